#!/bin/sh
# The command line from end to end.   run.sh PROGRAM
# Each cases/NAME.case is a call, its exit status and every line that it prints:
#   $ check --format lines plain.rig.yaml
#   = 1
#   what goes to standard output, then what goes to standard error
# Calls are made in the folder data. With CASES_WRITE=1 the files are written anew
# from what came out: look at the difference before keeping it.
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failed=0
count=0

wrong() {
    echo "cli: $1"
    failed=1
}

run_case() {
    call=$(sed -n '1s/^\$ //p' "$1")
    (cd "$here/data" && eval "\"\$program\" $call" >"$work/out" 2>"$work/err" </dev/null)
    status=$?
    # How many figures the kinds assume changes with the kinds.
    { echo "\$ $call"; echo "= $status"; cat "$work/out" "$work/err"; } |
        sed 's/^Not given, so assumed: [0-9]* figures/Not given, so assumed: N figures/' >"$work/got"
    count=$((count + 1))
    if [ -n "$CASES_WRITE" ]; then
        cp "$work/got" "$1"
    elif ! cmp -s "$work/got" "$1"; then
        wrong "$(basename "$1") comes out otherwise:"
        diff "$1" "$work/got"
    fi
}

# expect STATUS WHAT COMMAND...
expect() {
    wanted=$1 what=$2
    shift 2
    "$@" >"$work/out" 2>"$work/err" </dev/null
    status=$?
    count=$((count + 1))
    [ $status -eq "$wanted" ] || wrong "$what: exit status $status, expected $wanted"
}

unset NO_COLOR
LC_ALL=C
export LC_ALL
for case in "$here"/cases/*.case; do
    run_case "$case"
done

cd "$here/data" || exit 1

# A report that does not arrive is not a success.
if [ -w /dev/full ]; then
    expect 2 "a full disk" sh -c '"$0" check --rules rules --only try sound.rig.yaml >/dev/full' "$program"
    grep -q "could not be written" "$work/err" || wrong "a full disk is not told"
    expect 2 "help on a full disk" sh -c '"$0" --help >/dev/full' "$program"
fi
expect 2 "standard output that is closed" sh -c '"$0" --version >&-' "$program"

# The same bytes, however many are judged at a time.
mkdir -p "$work/many/deep"
for i in 1 2 3 4 5 6 7 8 9 10 11 12; do
    sed "s/^name: .*/name: Rig $i/" plain.rig.yaml >"$work/many/r$i.rig.yaml"
    cp sound.rig.yaml "$work/many/deep/s$i.rig.yaml"
done
for format in text lines json sarif markdown; do
    "$program" check --rules rules --only try --fail-at caution --format $format "$work/many" >"$work/one"
    for jobs in 2 3 16; do
        expect 1 "-j $jobs" "$program" check --rules rules --only try --fail-at caution --format $format -j $jobs "$work/many"
        cmp -s "$work/one" "$work/out" || wrong "-j $jobs gives another $format report than one job"
    done
done
"$program" check --rules rules --only try --format json "$work/many" | jq -e '.rigs | length == 24' >/dev/null ||
    wrong "the JSON report of a folder is not whole"

"$program" check --rules rules --only try --format sarif "$work/many" | jq -e '.runs[0].results | length > 24' >/dev/null ||
    wrong "the SARIF report of a folder is not whole"
# Rigs without findings before those with some: no comma too many.
"$program" check --rules rules --only try.pump-lasts --format sarif sound.rig.yaml sound.rig.yaml unasked.rig.yaml unasked.rig.yaml |
    jq -e '.runs[0].results | length == 2' >/dev/null || wrong "SARIF is no JSON when the first rig has no finding"

# Links, hidden names and other files are passed over; a loop of links does no harm.
mkdir -p "$work/links/.hidden" "$work/outside"
cp plain.rig.yaml "$work/outside/o.rig.yaml"
cp plain.rig.yaml "$work/links/.hidden/h.rig.yaml"
cp sound.rig.yaml "$work/links/s.rig.yaml"
cp plain.rig.yaml "$work/links/notes.yaml"
ln -s ../outside "$work/links/out"
ln -s ../outside/o.rig.yaml "$work/links/o.rig.yaml"
ln -s . "$work/links/loop"
expect 0 "a folder with links" "$program" check --rules rules --only try --format lines "$work/links"
mkdir "$work/empty"
expect 2 "an empty folder" "$program" check "$work/empty"

# One unreadable file does not hide the others: both are reported, the status is 2.
expect 2 "one of two files is missing" "$program" check --rules rules --only try --format lines plain.rig.yaml not-there.rig.yaml
grep -q "plain.rig.yaml:.*caution" "$work/out" || wrong "a missing file hides the findings of another"
grep -q "not-there.rig.yaml" "$work/out" || wrong "a missing file is not told"

# Limits are named when they are met.
deep="$work/deep"
for i in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32 33 34; do
    deep="$deep/d"
done
mkdir -p "$deep"
expect 2 "a folder that is too deep" "$program" check "$work/deep"
grep -q "at most 32 folders" "$work/err" || wrong "the depth of folders is not told"
mkdir "$work/crowd"
(cd "$work/crowd" && seq -f '%05g.rig.yaml' 10001 | xargs touch)
expect 2 "too many files" "$program" check "$work/crowd"
grep -q "at most 10000" "$work/err" || wrong "the number of files is not told"
mkdir "$work/heavy"
for i in 1 2 3; do truncate -s 100M "$work/heavy/h$i.rig.yaml"; done
expect 2 "too many bytes" "$program" check "$work/heavy"
grep -q "256 MiB" "$work/err" || wrong "the number of bytes is not told"

# Colour: asked for, or not at all on a pipe.
esc=$(printf '\033')
expect 0 "--color always" env NO_COLOR=1 TERM=dumb "$program" check --color always --rules rules --only try plain.rig.yaml
grep -q "$esc" "$work/out" || wrong "--color always gives no colour"
expect 0 "colour on a pipe" env CI=true TERM=xterm "$program" check --rules rules --only try plain.rig.yaml
grep -q "$esc" "$work/out" && wrong "there is colour on a pipe"

# ... and on a terminal, unless the variables say otherwise. script(1) lends one.
on_terminal() {
    wanted=$1
    shift
    env -u NO_COLOR TERM=xterm "$@" script -qec "'$program' check --rules rules --only try plain.rig.yaml" /dev/null \
        >"$work/out" 2>&1 </dev/null
    count=$((count + 1))
    grep -q "$esc\[" "$work/out" && got=colour || got=plain
    [ $got = "$wanted" ] || wrong "on a terminal with '$*' the report is $got"
}
if command -v script >/dev/null; then
    on_terminal colour
    on_terminal colour NO_COLOR=
    on_terminal plain NO_COLOR=0
    on_terminal plain TERM=dumb
    on_terminal plain TERM=
fi

# Nothing hostile gets through, from a file's content or from its name.
strange="$work/$(printf '\033[31m::x##[y')"
mkdir "$strange"
cp hostile.rig.yaml "$strange/$(printf 'a\nb\377').rig.yaml"
for format in text lines json sarif markdown; do
    "$program" check --rules rules --format $format "$strange" >"$work/out" 2>&1
    LC_ALL=C tr -d '\040-\176\200-\377\n' <"$work/out" | grep -q . && wrong "a control character gets into $format"
    grep -q '::\|##' "$work/out" && wrong "a mark of CI runners gets into $format"
    LC_ALL=C grep -q "$(printf '\342\200\256')" "$work/out" && wrong "an override of direction gets into $format"
done

[ $failed -eq 0 ] && echo "cli: $count calls as written"
exit $failed

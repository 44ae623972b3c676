# baseline.sh - what is known is not told again.   baseline.sh PROGRAM
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
LC_ALL=C
export LC_ALL
failed=0
count=0

wrong() {
    echo "baseline: $1"
    cat "$work/out"
    failed=1
}

# expect STATUS WHAT ARGUMENT... of `check`, from the folder rigs
expect() {
    wanted=$1 what=$2
    shift 2
    (cd "$work/rigs" && "$program" check --rules "$here/data/rules" --only try --today 2027-01-01 --format lines "$@") \
        >"$work/out" 2>&1 </dev/null
    status=$?
    count=$((count + 1))
    [ $status -eq "$wanted" ] || wrong "$what: status $status, not $wanted"
}
says() { grep -qF -- "$1" "$work/out" || wrong "no line says '$1'"; }
silent() { grep -q 'error:\|caution:\|question:' "$work/out" && wrong "$1"; }

mkdir -p "$work/rigs/a b"
printf 'rigtally: 1\n' >"$work/rigs/rigtally.yaml"
rig="$work/rigs/a b/p.rig.yaml"
pump() { printf '  %s: { is: pump, max_head: %s m, life: 5000 h }\n' "$1" "$2"; }
{ printf 'rigtally: 1\nparts:\n'; pump low 2; pump thin 4; } >"$rig"

expect 1 "before" .
expect 1 "writing" --write-baseline "$work/base" .
[ "$(sed -n 1p "$work/base")" = "rigtally baseline 1" ] || wrong "the first line is another"
grep -q '^[0-9a-f]\{16\} error try.pump-lifts-enough a%20b/p.rig.yaml$' "$work/base" || wrong "the error is not written down"
ls -A "$work" | grep -q part && wrong "a temporary file stays behind"
expect 0 "since" --since-baseline "$work/base" .
silent "what is known is told again"

# From another folder, and with more threads, the same bytes.
cp "$work/base" "$work/first"
(cd "$work/rigs/a b" && "$program" check --rules "$here/data/rules" --only try -j 4 --write-baseline "$work/base" .. >/dev/null)
cmp -s "$work/base" "$work/first" || wrong "the baseline hangs on the folder"

# Lines that move are known; what is worse, or of another part, or in another file, is not.
{ printf '# moved\nrigtally: 1\nname: Moved\nparts:\n'; pump thin 5; pump low 1; } >"$rig"
expect 0 "moved lines" --since-baseline "$work/base" .
silent "moved lines are told again"
{ printf 'rigtally: 1\nparts:\n'; pump low 2; pump thin 2; } >"$rig"
expect 1 "a caution that became an error" --since-baseline "$work/base" .
says 'thin lifts 2 m'
{ printf 'rigtally: 1\nparts:\n'; pump low 4; pump thin 4; } >"$rig"
expect 0 "an error that became a caution" --since-baseline "$work/base" --fail-at caution .
{ printf 'rigtally: 1\nparts:\n'; pump low 2; pump thin 4; pump new 1; } >"$rig"
expect 1 "a new part" --since-baseline "$work/base" .
says 'new lifts 1 m'
[ "$(grep -c 'error:\|caution:' "$work/out")" -eq 1 ] || wrong "more than the new part is told"
cp "$rig" "$work/rigs/other.rig.yaml"
expect 1 "another file" --since-baseline "$work/base" other.rig.yaml
says 'low lifts 2 m'
rm "$work/rigs/other.rig.yaml"

# The counts say so.
(cd "$work/rigs" && "$program" check --rules "$here/data/rules" --only try --format json --since-baseline "$work/base" .) |
    jq -e '.rigs[0].counts | .known == 2 and .error == 1 and .promises == .hold + .error + .caution + .question + .accepted + .known' >/dev/null ||
    wrong "the counts do not add up"

# A file that can't be read is never known.
printf 'rigtally: 1\nparts: [\n' >"$rig"
expect 2 "writing an unreadable file down" --write-baseline "$work/broken" .
expect 2 "an unreadable file" --since-baseline "$work/broken" .
says 'error:'
{ printf 'rigtally: 1\nparts:\n'; pump low 2; pump thin 4; } >"$rig"

# Both at once: known, and written down anew.
expect 0 "both" --since-baseline "$work/base" --write-baseline "$work/again" .
cmp -s "$work/base" "$work/again" || wrong "what is known is lost from the new baseline"

# What is no baseline is refused, with its place.
refused() {
    printf "$1" >"$work/bad"
    expect 2 "$2" --since-baseline "$work/bad" .
    says "$3"
    grep -q 'low lifts' "$work/out" && wrong "$2: rigs were judged"
}
refused '' "an empty file" "bad:1:1: error: this is no baseline"
refused 'rigtally baseline 2\n' "another version" "bad:1:1: error: this is no baseline"
refused '{"a": [1]}\n' "JSON" "bad:1:1: error: this is no baseline"
for line in 'x' '0123456789abcdef error a' '0123456789abcdef error a b c' '0123456789abcdeF error a b' '0123456789abcdef bad a b' \
    '0123456789abcdef  error a b' ' 0123456789abcdef error a b' '0123456789abcdef error a \033b' '' '0123456789abcdef error a b\r'; do
    refused "rigtally baseline 1\n$line\n" "a line '$line'" "bad:2:1: error: a line of a baseline is"
done
expect 2 "a baseline that is not there" --since-baseline "$work/none" .
expect 2 "a folder for a baseline" --since-baseline "$work" .

# Never over a link, never over what is no plain file; a file stays when it can't be replaced.
printf 'keep\n' >"$work/target"
ln -s target "$work/link"
mkdir "$work/real"
ln -s real "$work/folder"
mkfifo "$work/pipe"
for path in "$work/link" "$work/folder/base" "$work/pipe" "$work/real" "$work/real/" "$work/none/base" "$work/target/base" /dev/null .. ''; do
    expect 2 "writing to '$path'" --write-baseline "$path" .
    says "can't be written"
done
[ "$(cat "$work/target")" = keep ] && [ -z "$(ls -A "$work/real")" ] && [ -L "$work/link" ] || wrong "a link was followed"
if [ "$(id -u)" != 0 ]; then
    chmod 555 "$work/real"
    expect 2 "a folder without permission" --write-baseline "$work/real/base" .
fi

[ $failed -eq 0 ] && echo "baseline: $count calls as written"
exit $failed

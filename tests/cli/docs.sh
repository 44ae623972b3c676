# docs.sh - what the guides in docs/ show is what comes out.   docs.sh PROGRAM
# A block that opens with ```yaml NAME is a file of that name; one that opens with ```console is calls after "$ " and
# what they print, in the folder of those files. A line "..." stands for lines that are left out.
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failed=0
count=0
wrong() {
    echo "docs: $1"
    failed=1
}
mkdir "$work/bin" && ln -s "$program" "$work/bin/rigtally"
PATH=$work/bin:$PATH LC_ALL=C
export PATH LC_ALL

# matches GOT WANTED: the lines of WANTED are those of GOT, with any number of them at "...".
matches() {
    awk 'NR == FNR { got[++n] = $0; next } { want[++m] = $0 }
        function fits(i, j) {
            while (j <= m) {
                if (want[j] == "...") {
                    for (; i <= n + 1; i++) if (fits(i, j + 1)) return 1
                    return 0
                }
                if (i > n || got[i] != want[j]) return 0
                i++; j++
            }
            return i > n
        }
        END { exit !fits(1, 1) }' "$1" "$2"
}

for page in "$here"/../../docs/*.md; do
    name=$(basename "$page" .md)
    grep -q '^```console' "$page" || continue
    mkdir "$work/$name"
    # Each file of the page, then each call with what it is to print, numbered.
    awk -v into="$work/$name" '
        /^```yaml [^ ]+$/ { file = into "/" $2; folder = file; sub("/[^/]*$", "", folder); system("mkdir -p \"" folder "\""); next }
        /^```console$/ { console = 1; next }
        /^```$/ { if (file) close(file); file = ""; console = 0; next }
        file { print > file }
        console && /^\$ / { call = sprintf("%s/.call%03d", into, ++n); print substr($0, 3) > call; close(call)
            want = sprintf("%s/.want%03d", into, n); printf "" > want; next }
        console { print > want }' "$page"
    for call in "$work/$name"/.call*; do
        want=$work/$name/.want${call##*.call}
        (cd "$work/$name" && sh "$call") >"$work/got" 2>&1 </dev/null
        matches "$work/got" "$want" || { wrong "$name.md shows something else of: $(cat "$call")"; diff "$want" "$work/got" | head -20; }
        count=$((count + 1))
    done
done
# Every line of the findings that the README shows is printed.
awk '/Two of its findings:/ { on = 1 } on && /^```/ { n++; next } on && n == 1' "$here/../../README.md" >"$work/shown"
(cd "$here/../.." && "$program" check examples/bench-warmer.rig.yaml) >"$work/got"
[ "$(wc -l <"$work/shown")" -ge 20 ] || wrong "the README shows no findings"
grep -Fxv -f "$work/got" "$work/shown" >"$work/out" && { wrong "README.md shows what is not printed:"; head -5 "$work/out"; }

[ "$count" -ge 8 ] || wrong "only $count calls were found"
[ $failed -eq 0 ] && echo "docs: $count calls as the guides show them"
exit $failed

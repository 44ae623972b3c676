# sheet.sh - the printable sheet of every example, and of a rig that means no good.   sheet.sh PROGRAM
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failed=0
count=0
wrong() {
    echo "sheet: $1"
    failed=1
}
cd "$here/../../examples" || exit 1

# Every form of every example, twice the same, with every finding that `check` tells.
for rig in *.rig.yaml; do
    name=${rig%.rig.yaml}
    "$program" check --format json --today 2026-06-01 "$rig" >"$work/check.json" 2>/dev/null
    whole=$(jq -r '.rigs[0].readable' "$work/check.json")
    for ending in html md txt; do
        out="$work/$name.$ending"
        "$program" sheet --today 2026-06-01 "$rig" -o "$out" 2>"$work/err"
        status=$?
        if [ "$whole" != true ]; then
            if [ $status -ne 2 ] || [ -e "$out" ]; then wrong "$name: half a rig made a sheet"; fi
            continue
        fi
        if [ $status -gt 1 ] || [ ! -s "$out" ]; then wrong "$name.$ending was not written"; fi
        "$program" sheet --today 2026-06-01 "$rig" -o "$work/again.$ending" 2>/dev/null
        cmp -s "$out" "$work/again.$ending" || wrong "$name.$ending is not the same twice"
        jq -r '.rigs[0].findings[] | select(.level == "error" or .level == "caution") | .rule' "$work/check.json" |
            sort -u >"$work/rules"
        while read -r rule; do
            grep -q "$(printf '%s' "$rule" | sed 's/[.-]/.*/g')" "$out" || wrong "$name.$ending does not tell $rule"
        done <"$work/rules"
        count=$((count + 1))
    done
    [ -e "$work/$name.html" ] || continue
    # One file that loads nothing and runs nothing.
    grep -qiE '<script|<link|<img|<iframe|url\(|@import| on[a-z]+=' "$work/$name.html" && wrong "$name.html loads or runs something"
    grep -q '<html lang="en">' "$work/$name.html" || wrong "$name.html does not tell its language"
    [ "$(grep -c '<h1>' "$work/$name.html")" -eq 1 ] || wrong "$name.html has not one heading"
    [ "$(grep -o '<svg ' "$work/$name.html" | wc -l)" -eq "$(grep -o 'role="img"' "$work/$name.html" | wc -l)" ] ||
        wrong "$name.html has a picture that is not told as one"
    grep -o '<input type="checkbox"[^>]*>' "$work/$name.html" | grep -vq 'aria-label' &&
        [ "$(grep -o '<label><input type="checkbox">' "$work/$name.html" | wc -l)" -ne \
            "$(grep -o '<input type="checkbox">' "$work/$name.html" | wc -l)" ] && wrong "$name.html has a box without words"
    # Every part and every run is drawn.
    grep -q '<svg ' "$work/$name.html" || wrong "$name.html has no picture"
done

# A need that hangs on a label is met by it.
grep -q 'at bright-noon - met, by the labels' "$work/orchard-two-strings.txt" || wrong "a thin need is told as if it were not met"
grep -q 'doubt *pump.max_head: ' "$work/orchard-two-strings.txt" || wrong "why a label is in doubt is not told"

# Words of others stay words, in each form.
cat >"$work/bad.rig.yaml" <<'RIG'
rigtally: 1
name: "<script>alert(1)</script> `x` | [a](b) ![](c) & \"q\" <!-- "
parts:
  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h, mounting: submersible, note: "</td><img src=x onerror=y>" }
  drum: { is: tank, volume: 90 L, level: 0.5 m, height: 0 m, note: "| a | b |" }
  roof: { is: panel, vmp: 17.2 V, imp: 2.3 A, voc: 21.6 V, isc: 2.5 A }
cables:
  - { from: roof, to: pump, area: 2.5 mm2, length: 3 m }
pipes:
  - { from: drum, to: pump }
  - { from: pump, to: drum, bore: 13 mm, length: 3 m, ends: under-water }
needs:
  - "pump.flow >= 60 L/h at bright-noon"
accept:
  - { rule: list.has-spares, on: pump, because: "<b>::error::</b> | `", until: 2027-05-01 }
RIG
for ending in html md txt; do
    "$program" sheet --today 2026-06-01 "$work/bad.rig.yaml" -o "$work/bad.$ending" 2>"$work/err" || true
    [ -s "$work/bad.$ending" ] || wrong "bad.$ending was not written"
done
grep -qE '<script>|<img|<b>|<!-- ' "$work/bad.html" && wrong "HTML of others got into the page"
# Markdown takes nothing between backticks for its own.
sed 's/`` `[^`]*` ``//g; s/`[^`]*`//g' "$work/bad.md" | grep -qE '<|!\[' && wrong "Markdown of others got into the page"
grep -q "$(printf '\033')" "$work/bad.txt" && wrong "an escape got into the text"

# A name that is no form, a folder that is not there, a link: nothing is written.
cp bench-warmer.rig.yaml "$work/rig.rig.yaml"
for out in sheet.pdf sheet none/sheet.html; do
    "$program" sheet "$work/rig.rig.yaml" -o "$work/$out" >"$work/err" 2>&1
    if [ $? -ne 2 ] || [ ! -s "$work/err" ] || [ -e "$work/$out" ]; then wrong "$out was taken for a sheet"; fi
done
echo keep >"$work/kept"
ln -s "$work/kept" "$work/link.html"
"$program" sheet "$work/rig.rig.yaml" -o "$work/link.html" >/dev/null 2>&1
[ "$(cat "$work/kept")" = keep ] || wrong "a link was followed"
find "$work" -name '.*' -type f | grep -q . && wrong "an unfinished file was left"

# Without -o it is text.
"$program" sheet --today 2026-06-01 "$work/rig.rig.yaml" >"$work/plain" 2>/dev/null
"$program" sheet --today 2026-06-01 "$work/rig.rig.yaml" -o "$work/rig.TXT" 2>/dev/null
cmp -s "$work/plain" "$work/rig.TXT" || wrong "text is not the same on standard output"

[ $failed -eq 0 ] && echo "sheet: $count sheets as they should be"
exit $failed

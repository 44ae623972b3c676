# new.sh - every rig to begin with is sound itself.   new.sh PROGRAM
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failed=0
count=0
wrong() {
    echo "new: $1"
    failed=1
}
for name in $("$program" new | sed -n 's/^  \([a-z-]*\)  *[A-Z].*/\1/p'); do
    "$program" new "$name" >"$work/$name.rig.yaml" || wrong "$name can't be had"
    cmp -s "$work/$name.rig.yaml" "$here/../../docs/starters/$name.rig.yaml" || wrong "$name is not the file in docs/starters"
    "$program" check --format lines "$work/$name.rig.yaml" >"$work/out" 2>&1 || { wrong "$name does not tally"; grep error "$work/out"; }
    grep -q 'question:' "$work/out" && wrong "$name leaves questions open"
    count=$((count + 1))
done
[ "$count" -eq "$(ls "$here"/../../docs/starters/*.rig.yaml | wc -l)" ] && [ "$count" -ge 4 ] || wrong "only $count are listed"
"$program" new fontain >"$work/out" 2>&1 && wrong "a name that there is not"
grep -q "did you mean fountain?" "$work/out" || wrong "the nearest name is not told"
[ $failed -eq 0 ] && echo "new: $count rigs to begin with are sound"
exit $failed

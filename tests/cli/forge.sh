# forge.sh - a repository of rigs with a rule, a part and a baseline of its own, watched by the scripts in docs/.
# forge.sh PROGRAM
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
docs=$(realpath "$here/../../docs")
command -v git >/dev/null || { echo "forge: skipped: there is no git"; exit 0; }
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
LC_ALL=C
HOME=$work RIGTALLY=$program GIT_CONFIG_NOSYSTEM=1
export LC_ALL HOME RIGTALLY GIT_CONFIG_NOSYSTEM
unset GIT_DIR GIT_WORK_TREE GIT_INDEX_FILE BASELINE FAIL_AT
failed=0
count=0

wrong() {
    echo "forge: $1"
    failed=1
}
# expect STATUS WHAT COMMAND... , from the root of the repository
expect() {
    wanted=$1 what=$2
    shift 2
    (cd "$work/farm" && "$@") >"$work/out" 2>&1 </dev/null
    status=$?
    count=$((count + 1))
    [ $status -eq "$wanted" ] || { wrong "$what: status $status, not $wanted"; cat "$work/out"; }
}
says() { grep -qF -- "$1" "$work/out" || { wrong "no line says '$1'"; cat "$work/out"; }; }
silent() { grep -qF -- "$1" "$work/out" && { wrong "a line says '$1'"; cat "$work/out"; }; }
commit() { git add -A && git commit -q -m "$1"; }

# ---- three rigs, a rule and a part of the house ----

farm=$work/farm
mkdir -p "$farm/rigs/north field" "$farm/house/rules" "$farm/house/parts"
cd "$farm" || exit 1
git init -q . && git config user.name "The farm" && git config user.email farm@example.org
"$program" new fountain >rigs/fountain.rig.yaml
"$program" new warmer >rigs/warmer.rig.yaml
"$program" new lift | sed 's/fountain-pump-20w-18v/house-pump/' >"rigs/north field/lift.rig.yaml"
cat >house/rules/house.yaml <<'END'
rules:
  - rule: house.hose-is-ours
    pairing: pipe
    error_unless: pipe.bore >= 13 mm
    says: "{pipe} is {pipe.bore} wide; the store keeps 13 mm and more."
    because: Anything thinner has to be ordered, and its clamps too.
    sources:
      - { text: "The house's own store list" }
    proofs:
      - { given: { pipe.bore: 19 mm }, expect: holds }
      - { given: { pipe.bore: 13 mm }, expect: holds, limit: yes }
      - { given: { pipe.bore: 10 mm }, expect: error }
END
cat >house/parts/house.yaml <<'END'
catalogue:
END
"$program" part fountain-pump-20w-18v | sed -n 's/^  \([a-z_]*\)  *\(.*[^ ]\)   *[A-Z].*/\1|\2/p' >"$work/values"
{ printf '  - entry: house-pump\n    kind: pump\n    about: What the store keeps.\n    values:\n'
  sed 's/^\([^|]*\)|\(.*\)$/      \1: \2/' "$work/values"; } >>house/parts/house.yaml
[ "$(wc -l <"$work/values")" -ge 5 ] || wrong "the catalogue tells no figures of a pump"
printf 'rigtally: 1\nrules: [house/rules]\ncatalogue: [house/parts]\n' >rigtally.yaml
cp "$docs/hooks/pre-commit" .git/hooks/pre-commit

# ---- on a machine that looks at changes ----

expect 1 "before there is a baseline" "$docs/ci/check-rigs"
says "fountain.rig.yaml:22:5: error: pump-bowl is 10 mm wide"
[ "$(grep -c 'error:' "$work/out")" -eq 1 ] || { wrong "other errors than the one of the house"; cat "$work/out"; }
expect 1 "writing the baseline" "$program" check --write-baseline rigs.baseline .
commit "Rigs as they are" >/dev/null 2>&1 || wrong "the first commit is kept out"
expect 0 "with the baseline" "$docs/ci/check-rigs"
silent "error:"
expect 0 "with files for a forge" "$docs/ci/check-rigs" --sarif "$work/rigs.sarif" --markdown "$work/rigs.md" --prove house/rules .
jq -e '.version == "2.1.0" and ([.runs[0].results[] | select(.level == "error")] == [])' \
    "$work/rigs.sarif" >/dev/null || wrong "the SARIF is another"
[ -s "$work/rigs.md" ] || wrong "there is no Markdown"
expect 0 "another folder" "$docs/ci/check-rigs" "rigs/north field"
expect 2 "an option that there is not" "$docs/ci/check-rigs" --sarfi x
expect 2 "two folders" "$docs/ci/check-rigs" rigs house
expect 2 "nothing behind --sarif" "$docs/ci/check-rigs" --sarif
expect 2 "a file that can't be written" "$docs/ci/check-rigs" --sarif "$work/none/rigs.sarif"
expect 2 "a program that there is not" env RIGTALLY="$work/none" "$docs/ci/check-rigs"
expect 1 "a level that the baseline does not know" env FAIL_AT=error BASELINE=none "$docs/ci/check-rigs"

# A new mistake fails, and is told alone.
sed 's/length: 18 m/length: 300 m/' "rigs/north field/lift.rig.yaml" >"$work/lift" && cp "$work/lift" "rigs/north field/lift.rig.yaml"
expect 1 "a new mistake" "$docs/ci/check-rigs" --sarif "$work/rigs.sarif"
says "is not met"
silent "pump-bowl is 10 mm"
jq -e '[.runs[0].results[] | select(.level == "error") | .locations[].physicalLocation.artifactLocation.uri]
       | index("rigs/north%20field/lift.rig.yaml")' "$work/rigs.sarif" >/dev/null || wrong "the SARIF lacks the new mistake"

# ---- on the way into the repository ----

# kept_out WHAT, let_in WHAT: a commit of everything
kept_out() {
    count=$((count + 1))
    commit "$1" >"$work/out" 2>&1 && wrong "a commit gets in: $1"
    says "The commit is kept out."
    git reset -q --hard
}
let_in() {
    count=$((count + 1))
    commit "$1" >"$work/out" 2>&1 || { wrong "a commit is kept out: $1"; cat "$work/out"; }
}
kept_out "a hose that takes all of the head"
sed 's/length: 18 m/length: 17 m/' "rigs/north field/lift.rig.yaml" >"$work/lift" && cp "$work/lift" "rigs/north field/lift.rig.yaml"
let_in "a hose that is shorter"
printf 'words\n' >notes.txt
let_in "a file that is no rig"
printf 'rigtally: 1\nparts: [\n' >rigs/torn.rig.yaml
kept_out "a file that can't be read"
# A rule that catches rigs that did not change themselves; one whose proofs are as they were.
sed 's/pipe.bore >= 13 mm/pipe.bore >= 15 mm/; s/13 mm/15 mm/' house/rules/house.yaml >"$work/rule" && cp "$work/rule" house/rules/house.yaml
kept_out "a rule that breaks other rigs"
sed 's/>= 13 mm/>= 12 mm/' house/rules/house.yaml >"$work/rule" && cp "$work/rule" house/rules/house.yaml
let_in "a milder rule"
expect 1 "its proofs" "$docs/ci/check-rigs" --prove house/rules
says "a proof of house.hose-is-ours comes out otherwise"
# What is in the folder and not in the commit does not count, either way.
sed 's/length: 17 m/length: 300 m/' "rigs/north field/lift.rig.yaml" >"$work/lift" && cp "$work/lift" "rigs/north field/lift.rig.yaml"
printf 'more\n' >>notes.txt
git add notes.txt && expect 0 "a mistake that stays outside" git commit -q -m "Notes"
git add -A
git show "HEAD:rigs/north field/lift.rig.yaml" >"rigs/north field/lift.rig.yaml"
expect 1 "a mistake that was staged and then mended in the folder" git commit -q -m "Staged"
says "The commit is kept out."
git reset -q --hard
git rm -q rigs/warmer.rig.yaml
let_in "a rig that goes"

# ---- the scripts themselves ----

if command -v shellcheck >/dev/null; then
    shellcheck "$docs/hooks/pre-commit" "$docs/ci/check-rigs" || wrong "shellcheck has something against the scripts"
else
    echo "forge: the look at the scripts is skipped: there is no shellcheck"
fi
[ $failed -eq 0 ] && echo "forge: $count things as they should be"
exit $failed

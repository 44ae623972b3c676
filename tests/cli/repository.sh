# repository.sh - `rigtally.yaml` at the root of a folder of rigs.   repository.sh PROGRAM
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
    echo "repository: $1"
    failed=1
}

# expect STATUS WORDS WHAT ARGUMENT... ; WORDS: a line of the output holds them; -: none is asked for
expect() {
    wanted=$1 words=$2 what=$3
    shift 3
    "$program" "$@" >"$work/out" 2>&1 </dev/null
    status=$?
    count=$((count + 1))
    [ $status -eq "$wanted" ] || { wrong "$what: status $status, not $wanted"; cat "$work/out"; }
    [ "$words" = - ] || grep -qF -- "$words" "$work/out" || { wrong "$what: no line says '$words'"; cat "$work/out"; }
}

root="$work/farm"
mkdir -p "$root/rigs/deep" "$root/own" "$root/parts"
cp "$here/data/rules/try.yaml" "$root/own/"
cp "$here/data/catalogue/try.yaml" "$root/parts/"
cp "$here/data/plain.rig.yaml" "$root/rigs/deep/plain.rig.yaml"
cat >"$root/rigs/bare.rig.yaml" <<'END'
rigtally: 1
name: Bare
site: { water: 9 .. 20 degC }
parts:
  pump: { is: pump, max_head: 9 m, life: 5000 h }
END
cat >"$root/rigtally.yaml" <<'END'
rigtally: 1
practice: north-america
site: { latitude: 33 deg, air: -1 .. 41 degC, water: 1 .. 2 degC }
rules: [own]
catalogue: [parts]
END

# Practice and site stand for all rigs, key by key; a rig's own words go before them.
expect 0 - "figures" figures --format json "$root/rigs/bare.rig.yaml"
"$program" figures --format json "$root/rigs/bare.rig.yaml" 2>/dev/null |
    jq -e '.parts.site.attributes as $s | $s.water.value == [9, 20] and $s.air.value == [-1, 41] and $s.air.from == "given"
           and .parts.rig.attributes.practice.value == "north-america"' >/dev/null || wrong "the site's values are others"
# A rig that names its practice keeps it.
"$program" check --only try --format json "$root/rigs/deep/plain.rig.yaml" |
    jq -e '.rigs[0].practice == "iec"' >/dev/null || wrong "a rig's own practice is lost"

# Its rules judge its rigs, named or not, and no others.
expect 0 "small lifts 4 m at the most" "own rules" check --only try --format lines "$root"
cp "$here/data/plain.rig.yaml" "$work/plain.rig.yaml"
expect 2 "there is no promise 'try'" "rules of another's" check --only try "$work/plain.rig.yaml"

# From any folder the same SARIF, with paths that begin at the root.
(cd "$root" && "$program" check --only try --format sarif rigs) >"$work/one"
(cd "$root/rigs/deep" && "$program" check --only try --format sarif -j 4 ..) >"$work/two"
(cd / && "$program" check --only try --format sarif -j 2 "$root") >"$work/three"
ln -s farm "$work/alias"
(cd "$work" && "$program" check --only try --format sarif alias/rigs) >"$work/four"
for other in two three four; do
    count=$((count + 1))
    cmp -s "$work/one" "$work/$other" || wrong "SARIF hangs on the folder: one against $other"
done
grep -q '"uri": "rigs/deep/plain.rig.yaml"' "$work/one" || wrong "the path does not begin at the root"
grep -qF "$work" "$work/three" && wrong "an absolute path is in SARIF"

# Without a mark, the folder that holds them all is the root.
mkdir -p "$work/loose/a" "$work/loose/ab"
cp "$here/data/plain.rig.yaml" "$work/loose/a/x.rig.yaml"
cp "$here/data/plain.rig.yaml" "$work/loose/ab/y.rig.yaml"
(cd "$work/loose/a" && "$program" check --rules "$here/data/rules" --only try --format sarif .. | jq '.runs[0].results[].locations[0].physicalLocation.artifactLocation.uri' | sort -u) >"$work/uris"
printf '"a/x.rig.yaml"\n"ab/y.rig.yaml"\n' | cmp -s - "$work/uris" || wrong "loose files have other paths"

# The nearest file counts; none is looked for above a version control's root.
mkdir -p "$root/rigs/deep/.git"
expect 2 "there is no promise 'try'" "a root of version control" check --only try "$root/rigs/deep/plain.rig.yaml"
rmdir "$root/rigs/deep/.git"

# Mistakes are told where they stand, with each rig; what is right in the file still counts.
settings() { printf -- "$1" >"$root/rigtally.yaml"; }
# mistake TEXT STATUS WORDS WHAT
mistake() {
    settings "$1"
    expect "$2" "$3" "$4" check --only accept --format lines "$root/rigs/bare.rig.yaml"
}
mistake 'sites: { latitude: 3 deg }\n' 1 "rigtally.yaml:1:1: error: rigtally.yaml has no 'sites'; did you mean site?" "an unknown key"
mistake 'site: { latitude: 3 m, air: 3 .. 4 degC }\n' 1 "rigtally.yaml:1:19: error:" "a wrong unit"
mistake 'site: { latitud: 3 deg }\n' 1 "rigtally.yaml:1:9: error: a site has no 'latitud'; did you mean latitude?" "an unknown attribute"
mistake 'practice: moon\n' 1 "rigtally.yaml:1:11: error: practice is one word" "an unknown practice"
mistake 'rigtally: 2\n' 2 "rigtally.yaml:1:11: error: this tool reads format version 1" "another version"
mistake 'site: [1]\n' 2 "rigtally.yaml:1:7: error: site should be" "a site of another shape"
mistake 'rules: [own, { a: b }]\n' 2 "rigtally.yaml:1:14: error: rules takes a list of folders" "no folder's name"
mistake 'rules: &a [own]\n' 2 "rigtally.yaml:1:8:" "an anchor"
mistake '- own\n' 2 "rigtally.yaml:1:1: error: this file is a list of" "a list"
mistake 'rules: [\n' 2 "rigtally.yaml:" "an open bracket"
mistake 'rules: [none]\n' 2 "rigtally.yaml:1:9: error: the folder 'none' is not there." "a folder that is not there"
mistake 'rules: own/try.yaml\n' 2 "rigtally.yaml:1:8: error: the folder 'own/try.yaml' is no folder." "a file for a folder"
mistake 'rules: "\\u202E::x"\n' 2 "the folder '<U+202E>:\\x3ax' is not there." "a hostile name"

# Nothing is read from outside.
mkdir "$work/outside"
cp "$here/data/rules/try.yaml" "$work/outside/"
ln -s ../outside "$root/out"
ln -s own "$root/within"
for folder in ../outside own/../../outside /etc "$work/outside" out out/. ..; do
    mistake "rules: ['$folder']\n" 2 "leads out of the folder of rigtally.yaml" "$folder"
done
settings 'rules: [own/../own]\n'
expect 0 "small lifts 4 m" "a way that stays inside" check --only try --format lines "$root"

# Rules that are wrong are told with their own place, and the built-in ones still judge.
settings 'rules: [bad]\n'
mkdir "$root/bad"
printf 'rules:\n  - rule: bad.one\n    pairing: pump\n    error_unless: pump.max_head >= 3 L/h\n    says: x\n    because: y\n' >"$root/bad/bad.yaml"
expect 1 "bad/bad.yaml:4:" "a rule that does not type" check --only accept --format lines "$root/rigs/bare.rig.yaml"
expect 1 "list.every-part-is-used" "the built-in rules" check --fail-at caution --format lines "$root/rigs/bare.rig.yaml"

# A link is not followed, and somebody else's file is not believed.
rm "$root/rigtally.yaml"
ln -s ../outside/settings.yaml "$root/rigtally.yaml"
printf 'practice: iec\n' >"$work/outside/settings.yaml"
expect 0 "this is no plain file, so it was not read" "a link" check --only accept --format lines "$root/rigs/bare.rig.yaml"
rm "$root/rigtally.yaml"
if [ "$(id -u)" = 0 ] && id nobody >/dev/null 2>&1; then
    settings 'practice: iec\n'
    chown nobody "$root/rigtally.yaml"
    expect 0 "this file belongs to somebody else" "another's file" check --only accept --format lines "$root/rigs/bare.rig.yaml"
fi

[ $failed -eq 0 ] && echo "repository: $count calls as written"
exit $failed

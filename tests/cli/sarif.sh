# sarif.sh - what `check --format sarif` writes of whole rigs keeps to SARIF 2.1.0 (OASIS standard, 2020, with errata 01).
# Each line of the list below names the section that it comes from.   sarif.sh PROGRAM
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
root=$(realpath "$here/../..")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
LC_ALL=C
export LC_ALL
failed=0
count=0

wrong() {
    echo "sarif: $1"
    failed=1
}

# Each row: what must be true of the whole file, and what that is called.
cat >"$work/rows" <<'END'
.version == "2.1.0"	3.13.2: the version
."$schema" | test("^https://docs[.]oasis-open[.]org/sarif/sarif/v2[.]1[.]0/.*sarif-schema-2[.]1[.]0[.]json$")	3.13.3: the schema
.runs | length == 1	3.13.4: one run
keys - ["$schema", "version", "runs"] == []	3.13.1: no other properties
run | keys - ["tool", "results", "invocations", "originalUriBaseIds", "columnKind", "properties"] == []	3.14: properties of a run
run.columnKind | . == "unicodeCodePoints" or . == "utf16CodeUnits"	3.14.27: the kind of columns
run.tool.driver | (.name == "rigtally") and (.version | test("^[0-9]+[.][0-9]+[.][0-9]+$"))	3.19.8, 3.19.13: name and version of the driver
run.tool.driver | keys - ["name", "version", "rules", "informationUri"] == []	3.19: properties of the driver
[rules[].id] | length == (unique | length) and length > 50	3.19.23, 3.49.3: every rule once
all(rules[]; (.id | length > 0) and (.shortDescription.text | length > 0) and (.fullDescription.text | length > 0))	3.49.3, 3.49.9, 3.49.10: id and descriptions
all(rules[] | select(has("help")); .help.text | length > 0)	3.49.13: help
all(rules[] | select(has("defaultConfiguration")); .defaultConfiguration.level | . == "none" or . == "note" or . == "warning" or . == "error")	3.50.3: the usual level
all(rules[]; keys - ["id", "shortDescription", "fullDescription", "help", "defaultConfiguration"] == [])	3.49: properties of a rule
all(results[]; (.level | . == "note" or . == "warning" or . == "error"))	3.27.10: the level
all(results[]; .message.text | length > 0)	3.11: a message has a text
run | .tool.driver.rules as $rules | all(.results[]; .ruleIndex >= 0 and .ruleIndex < ($rules | length) and $rules[.ruleIndex].id == .ruleId)	3.27.6, 3.52.5: the index is that of the rule
all(results[]; .locations | length == 1)	3.27.12: one place
all(places; (.artifactLocation.uri | test("^[A-Za-z0-9._~%/-]+$")) and (.artifactLocation.uri | test("^/|//|[.][.]") | not))	3.4.3: a relative URI
run | .originalUriBaseIds as $bases | all(places; .artifactLocation.uriBaseId | in($bases))	3.4.4, 3.14.14: its base is told
all(places | select(has("region")); .region.startLine >= 1 and (.region.startColumn // 1) >= 1)	3.30.5, 3.30.6: lines and columns count from 1
all(results[]; .locations[0].physicalLocation | has("region"))	3.29.4: every finding has a line
all(results[]; .suppressions | type == "array")	3.27.23: said of all or of none
all(results[].suppressions[]; .kind == "inSource" and .status == "accepted" and (.justification | length > 0))	3.35.2, 3.35.3, 3.35.5: kind, status, reason
[results[] | select(.suppressions != [])] | length >= 2	the examples accept findings
all(results[]; .partialFingerprints | to_entries | length == 1 and all(.[]; (.key | test("^[A-Za-z]+/v[0-9]+$")) and (.value | test("^[0-9a-f]{16}$"))))	3.27.17: fingerprints with a version
all(results[]; keys - ["ruleId", "ruleIndex", "level", "message", "locations", "relatedLocations", "partialFingerprints", "suppressions", "properties"] == [])	3.27: properties of a result
all(run.invocations[]; .executionSuccessful == true)	3.20.14: the run went well
[run.results[].ruleId] | unique | length > 10	the examples break many rules
END
cat >"$work/words.jq" <<'END'
def run: if has("runs") then .runs[0] else . end;
def rules: run.tool.driver.rules;
def results: run.results;
def places: results[] | .locations[], (.relatedLocations // [])[], (.suppressions[] | .location | select(.)) | .physicalLocation;
END

"$program" check --format sarif --today 2027-01-01 "$root/examples" >"$work/all.sarif"
while IFS='	' read -r filter what; do
    count=$((count + 1))
    jq -e "$(cat "$work/words.jq") $filter" "$work/all.sarif" >"$work/out" 2>&1 || { wrong "$what"; head -n 3 "$work/out"; }
done <"$work/rows"

# Each example by itself keeps to the same rows, but for those that speak of all.
sed '/the examples/d' "$work/rows" | cut -f 1 | sed 's/.*/(&)/' | tr '\n' ' ' | sed 's/) (/) and (/g' >"$work/both"
for rig in "$root"/examples/*.rig.yaml; do
    count=$((count + 1))
    "$program" check --format sarif --today 2027-01-01 "$rig" >"$work/one.sarif"
    jq -e "$(cat "$work/words.jq" "$work/both")" "$work/one.sarif" >/dev/null || wrong "$(basename "$rig") by itself"
done

# A fingerprint outlives lines that move; what is found does not hang on the lines.
prints() { jq -r '.runs[0].results[] | "\(.partialFingerprints[]) \(.ruleId)"' "$1" | sort; }
for name in bench-warmer courtyard-fountain; do
    mkdir -p "$work/moved"
    "$program" check --format sarif "$root/examples/$name.rig.yaml" >"$work/before.sarif"
    { printf '# a remark\n\n\n'; sed 's/^parts:/# another\nparts:/' "$root/examples/$name.rig.yaml"; } >"$work/moved/$name.rig.yaml"
    "$program" check --format sarif "$work/moved/$name.rig.yaml" >"$work/after.sarif"
    prints "$work/before.sarif" >"$work/before"
    prints "$work/after.sarif" >"$work/after"
    count=$((count + 1))
    [ -s "$work/before" ] && cmp -s "$work/before" "$work/after" || wrong "$name: fingerprints hang on the lines"
    jq -e --slurpfile after "$work/after.sarif" '[.runs[0].results[].locations[].physicalLocation.region.startLine] !=
        [$after[0].runs[0].results[].locations[].physicalLocation.region.startLine]' "$work/before.sarif" >/dev/null || wrong "$name: no line moved"
    [ "$(sort -u "$work/before" | wc -l)" -eq "$(wc -l <"$work/before")" ] || wrong "$name: two findings have one fingerprint"
done

# The committee's own JSON Schema says the same of everything. RIGTALLY_SARIF_SCHEMA names a copy of it
# (sarif-schema-2.1.0.json); ajv comes from npm into the build folder.
tools=$(dirname "$program")/npm
schema=${RIGTALLY_SARIF_SCHEMA:-}
if [ -n "$schema" ] && { [ -d "$tools/node_modules/ajv" ] ||
    { command -v npm >/dev/null && command -v node >/dev/null &&
        timeout 120 npm install --silent --no-audit --no-fund --ignore-scripts --prefix "$tools" ajv@8 yaml@2 >/dev/null 2>&1; }; }; then
    "$program" check --format sarif "$here/data/hostile.rig.yaml" "$here/data/mistakes.rig.yaml" "$here/data/broken.rig.yaml" >"$work/bad.sarif"
    jq 'del(.runs[0].tool.driver.name)' "$work/one.sarif" >"$work/wrong.sarif"
    cat >"$work/validate.js" <<'END'
const fs = require('fs'), path = require('path')
const [tools, schemaFile, wanted, ...files] = process.argv.slice(2)
const Ajv = require(path.join(tools, 'node_modules', 'ajv'))
const schema = JSON.parse(fs.readFileSync(schemaFile, 'utf8'))
delete schema.$schema // draft-04, of which it uses nothing that draft-07 has otherwise
delete schema.id
const validate = new Ajv({ strict: false, validateFormats: false, unicodeRegExp: false, allErrors: true }).compile(schema)
for (const file of files) {
  const good = validate(JSON.parse(fs.readFileSync(file, 'utf8')))
  if (good === (wanted === 'good')) continue
  console.log(path.basename(file), JSON.stringify((validate.errors || []).slice(0, 3)))
  process.exitCode = 1
}
END
    count=$((count + 2))
    node "$work/validate.js" "$tools" "$schema" good "$work/all.sarif" "$work/bad.sarif" "$work/before.sarif" ||
        wrong "the committee's schema refuses it"
    node "$work/validate.js" "$tools" "$schema" bad "$work/wrong.sarif" || wrong "the committee's schema lets anything through"
else
    echo "sarif: the committee's schema is skipped: RIGTALLY_SARIF_SCHEMA names none, or npm has no ajv to offer here"
fi

[ $failed -eq 0 ] && echo "sarif: $count checks hold"
exit $failed

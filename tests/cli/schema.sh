# schema.sh - the JSON Schema of the rig file against real rigs and broken ones.   schema.sh PROGRAM
# ajv and yaml come from npm into the build folder; without them the comparison is skipped.
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
root=$(realpath "$here/../..")
tools="$(dirname "$program")/npm"
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT

"$program" schema >"$work/schema.json" || { echo "schema: it can't be printed"; exit 1; }
jq -e '.["$schema"] == "http://json-schema.org/draft-07/schema#" and .additionalProperties == false
       and (.definitions["kind-pump"].properties.voltage.description | length > 20)' "$work/schema.json" >/dev/null ||
    { echo "schema: the head of the schema is another"; exit 1; }
"$program" schema --catalogue "$here/data/catalogue" | grep -q '"try-' || { echo "schema: --catalogue adds no entry"; exit 1; }

if [ ! -d "$tools/node_modules/ajv" ] || [ ! -d "$tools/node_modules/yaml" ]; then
    command -v npm >/dev/null && command -v node >/dev/null &&
        timeout 120 npm install --silent --no-audit --no-fund --prefix "$tools" ajv@8 yaml@2 >/dev/null 2>&1 ||
        { echo "schema: the comparison is skipped: npm has no ajv and yaml to offer here"; exit 0; }
fi

cat >"$work/validate.js" <<'END'
const fs = require('fs'), path = require('path')
const [tools, schemaFile, mode, ...files] = process.argv.slice(2)
const Ajv = require(path.join(tools, 'node_modules', 'ajv'))
const YAML = require(path.join(tools, 'node_modules', 'yaml'))
const validate = new Ajv({ strict: true, strictTypes: false, strictRequired: false, allErrors: true })
  .compile(JSON.parse(fs.readFileSync(schemaFile, 'utf8')))
let wrong = 0, count = 0
const judge = (name, text, want) => {
  let data
  try { data = YAML.parse(text, { version: '1.2', uniqueKeys: true }) } catch (e) { data = undefined }
  const good = data !== undefined && validate(data)
  count++
  if (good === want) return
  wrong++
  console.log(`schema: ${name} is ${good ? 'let through' : 'refused'}`)
  if (!good) console.log(JSON.stringify((validate.errors || []).slice(0, 3)))
}
if (mode === 'rows') {
  for (const row of fs.readFileSync(files[0], 'utf8').split('\n').filter(row => row)) {
    const [sign, text] = [row[0], row.slice(2).replace(/\\n/g, '\n')]
    judge(text, text.startsWith('rigtally') ? text : 'rigtally: 1\n' + text, sign === '+')
  }
} else {
  for (const file of files) judge(file, fs.readFileSync(file, 'utf8'), mode === 'good')
}
console.log(`schema: ${count} files ${mode}`)
process.exit(wrong ? 1 : 0)
END

# Rigs that the tool reads without a mistake must pass, those with mistakes must not. A slip that only the tool can
# see (an id that nobody has, a formula) is no matter of the form.
good= bad=
for file in "$root"/examples/*.rig.yaml "$here"/data/plain.rig.yaml "$here"/data/sound.rig.yaml "$here"/data/unasked.rig.yaml; do
    if "$program" check --format json "$file" | jq -e '[.rigs[].findings[].rule | select(test("^file[.](reads|knows-its-words|gives-units|says-things-once)$"))] == []' >/dev/null; then
        good="$good $file"
    else
        bad="$bad $file"
    fi
done
bad="$bad $here/data/mistakes.rig.yaml $here/data/broken.rig.yaml $here/data/hostile.rig.yaml"
status=0
node "$work/validate.js" "$tools" "$work/schema.json" good $good || status=1
node "$work/validate.js" "$tools" "$work/schema.json" bad $bad || status=1

# Each row is judged by the schema and by the tool: + both let it through, - both refuse it.
cat >"$work/rows" <<'END'
+ parts: { p: { is: pump } }
+ parts: { p: { is: pump, voltage: 12 V, power: 8W, max_head: "4 m", max_flow: 1.5 gal/min, count: 2 } }
+ parts: { p: { is: pump, voltage: } }
+ parts: { p: { is: pump, voltage: 12 volts, max_head: 13 ft, curve: [[0 L/h, 4 m], [420 L/h, 0 m]] } }
+ parts: { p: { is: pump, voltage_range: 6 .. 26 V } }
+ parts: { p: { is: pump, voltage_range: 6 V .. 26 V } }
+ parts: { p: { is: pump, self_priming: yes, type: diaphragm } }
+ parts: { b: { is: battery, depth_of_discharge: 50 % } }
+ parts: { b: { is: battery, depth_of_discharge: 0.5 } }
+ parts: { p: { is: panel, voc_temp: -0.3 %/K } }
+ parts: { p: { is: panel, voc_temp: -0.08 V/K, voc: 22 V } }
+ parts: { a: { is: junction }, b: { is: junction } }\ncables: [{ from: a, to: b, area: 14 AWG, length: 3 m }]
+ parts: { a: { is: junction }, b: { is: junction } }\ncables: [{ from: a, to: b, area: 2.5 mm², length: 3m, id: run }]
+ parts: { a: { is: tank }, b: { is: tank } }\npipes: [{ from: a, to: b, bore: 13 mm, length: 3 m, fittings: { elbow: 3, entry: { number: 1, k: 0.5 } } }]
+ parts: { p: { is: pump, note: 5 } }\nsite: { latitude: 47 deg, air: -5 .. 30 degC, season: 3 .. 10 }
+ parts: { p: { is: pump } }\npractice: north-america\nneeds: [p.max_head >= 3 m]\naccept: []
- parts: { p: { is: pump, volatge: 12 V } }
- parts: { p: { is: pump, voltage: 12 } }
- parts: { p: { is: pump, voltage: 12 A } }
- parts: { p: { is: pump, max_head: 3 bar } }
- parts: { p: { is: pump, voltage: "1,5 V" } }
- parts: { p: { is: pump, voltage: 6 .. 12 V } }
- parts: { p: { is: pump, voltage_range: 12 V } }
- parts: { p: { is: pump, flow: 3 L/h } }
- parts: { p: { is: pump, type: turbine } }
- parts: { p: { is: pump, self_priming: maybe } }
- parts: { p: { is: pump, curve: [[0 L/h]] } }
- parts: { p: { is: pumpe } }
- parts: { p: { use: no-such-entry-anywhere } }
- parts: { p: { voltage: 12 V } }
- parts: { site: { is: pump } }
- parts: { "1p": { is: pump } }
- parts: {}
- name: nothing
- rigtally: 2\nparts: { p: { is: pump } }
- parts: { p: { is: pump } }\nextra: 1
- parts: { p: { is: pump } }\npractice: mars
- parts: { p: { is: pump } }\nsite: { latitude: 47 }
- parts: { p: { is: pump } }\nsite: { lattitude: 47 deg }
- parts: { p: { is: pump } }\naccept: [{ rule: x.y, on: p }]
- parts: { p: { is: pump } }\naccept: [{ rule: x.y, on: p, because: z, until: soon }]
- parts: { a: { is: junction } }\ncables: [{ from: a }]
- parts: { a: { is: junction }, b: { is: junction } }\ncables: [{ from: a, to: b, bore: 3 mm }]
- parts: { a: { is: tank }, b: { is: tank } }\npipes: [{ from: a, to: b, fittings: { elbows: 3 } }]
- parts: { b: { is: battery, depth_of_discharge: 5 V } }
END
node "$work/validate.js" "$tools" "$work/schema.json" rows "$work/rows" || status=1
# The same rows by the tool: what both must refuse has a mistake in the file.
while read -r sign text; do
    case $text in rigtally*) printf '%b\n' "$text" ;; *) printf 'rigtally: 1\n%b\n' "$text" ;; esac >"$work/row.rig.yaml"
    mistakes=$("$program" check --format json "$work/row.rig.yaml" | jq '[.rigs[].findings[] | select(.rule | test("^file[.]"))] | length')
    case $sign$mistakes in
    +0 | -[1-9]*) ;;
    *) echo "schema: the tool finds $mistakes mistakes in: $text"; status=1 ;;
    esac
done <"$work/rows"
exit $status

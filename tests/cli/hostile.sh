# hostile.sh - files that nobody would write by accident. Each must get a clear message, in bounded time and
# memory, and never crash. Usage: hostile.sh PROGRAM
set -u
program=$1
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0
failed=0

fail() {
    echo "FAILED: $1: $2"
    failed=$((failed + 1))
}

# judge NAME EXIT WORDS: checks $folder/NAME.rig.yaml; the exit code must be EXIT, a line must hold WORDS, and no
# raw control character may come through.
judge() {
    # The sanitizers keep shadow memory of their own, so only the plain build is held to an address space.
    (case $program in *sanitize*) ;; *) ulimit -v 2000000 ;; esac
     timeout 20 "$program" check --format lines "$folder/$1.rig.yaml" >"$folder/out" 2>&1)
    code=$?
    if [ $code -ne "$2" ]; then
        fail "$1" "exit code $code, not $2"; head -c 600 "$folder/out"
    elif ! grep -qF -- "$3" "$folder/out"; then
        fail "$1" "no line says '$3'"; head -c 600 "$folder/out"
    elif LC_ALL=C grep -q "$(printf '[\001-\010\013-\037\177]')" "$folder/out"; then
        fail "$1" "a control character came through"
    else
        passed=$((passed + 1))
    fi
}

rig() { cat >"$folder/$1.rig.yaml"; }
head_of() { printf 'rigtally: 1\nname: t\n'; }

: | rig empty
judge empty 2 'empty'

printf '# only a remark\n' | rig remark
judge remark 2 'nothing stands in this file'

head -c 100000 /dev/zero | tr '\0' '[' | rig brackets
judge brackets 2 'deep'

{ head_of; printf 'parts: '; head -c 50000 /dev/zero | sed 's/\x00/{a: /g'; } | rig braces
judge braces 2 'deep'

{ printf 'a: &a [x, x, x, x, x, x, x, x, x]\n'
  p=a; for n in b c d e f g h i; do printf '%s: &%s [*%s, *%s, *%s, *%s, *%s, *%s, *%s, *%s]\n' $n $n $p $p $p $p $p $p $p $p; p=$n; done
} | rig aliases
judge aliases 2 'anchor'

printf 'rigtally: 1\nparts: &a\n  x: *a\n' | rig cycle
judge cycle 2 'anchor'

{ for n in $(seq 1 3000); do printf '%%TAG !a%d! tag:x,%d:\n' "$n" "$n"; done; printf -- '---\na: 1\n'; } | rig tags
judge tags 2 'tags.rig.yaml:1:'

printf 'rigtally: 1\nname: a\0b\n' | rig nul
judge nul 2 'nul.rig.yaml:2:'

printf 'rigtally: 1\nname: "\\0"\nparts:\n  a: { is: junction }\n' | rig escaped-nul
judge escaped-nul 2 'escaped-nul.rig.yaml:2:'

for bytes in '\300\200' '\355\240\200' '\370\210\200\200\200' '\377' '\342\202'; do
    { head_of; printf 'parts:\n  a: { is: junction, note: '; printf "$bytes"; printf ' }\n'; } | rig utf8
    judge utf8 2 'utf8.rig.yaml:4:'
done

{ head_of; printf 'parts:\n  a: { is: junction, note: "'; head -c 100000000 /dev/zero | tr '\0' 'x'; printf '" }\n'; } | rig long
judge long 2 '4194304'

{ head_of; printf 'parts:\n  a: { is: junction, note: "'; head -c 200000 /dev/zero | tr '\0' 'x'; printf '" }\n'; } | rig longish
judge longish 2 '65536'

{ head_of; printf 'parts:\n  "a\\e[31mred": { is: junction }\n'; } | rig terminal
judge terminal 2 'terminal.rig.yaml:4:'

{ head_of; printf 'parts:\n  "a\\u202Eb": { is: junction }\n  "::error ::x": { is: junction }\n  "##[group]y": { is: junction }\n'; } | rig ci
judge ci 1 'ci.rig.yaml:4:'
grep -qE '^::|[[:space:]]::error|##\[' "$folder/out" && fail ci "a CI command came through"

for number in 1e308 1e309 nan .nan inf -.inf 0x10 1e400000000 1_000 '1 000' -5 1e-400; do
    { head_of; printf 'parts:\n  a: { is: pump, voltage: %s V }\n' "$number"; } | rig number
    judge number 1 'number.rig.yaml:4:'
done

{ head_of; printf 'parts:\n  a: { is: tank, level: 1 m }\n  b: { is: pump }\npipes:\n  - { from: a, to: b, bore: 13 mm, length: 0 m }\n'; } | rig zero
judge zero 1 'zero.rig.yaml:7:'

printf 'rigtally: 1\n' | rig nothing
judge nothing 2 'parts'

{ head_of; printf 'parts: {}\n'; } | rig no-parts
judge no-parts 2 'lists no parts'

printf -- '- 1\n- 2\n' | rig list
judge list 2 'rig file'

printf 'just words\n' | rig words
judge words 2 'rig file'

{ head_of; printf 'parts:\n  a: { is: junction }\n---\nrigtally: 1\n'; } | rig second
judge second 2 'second.rig.yaml:5:'

{ head_of; printf 'parts:\n  a: !!python/object:os.system { is: junction }\n'; } | rig tag
judge tag 2 'tag.rig.yaml:4:'

{ head_of; printf 'parts:\n'; for n in $(seq 1 30000); do printf '  p%d: { is: junction, spare: yes }\n' "$n"; done; } | rig many
judge many 2 'parts and runs'

{ head_of; printf 'parts:\n  a: { is: panel }\n  b: { is: junction }\n  c: { is: junction }\ncables:\n'
  printf '  - { from: a, to: b, area: 1 mm2, length: 1 m }\n  - { from: b, to: c, area: 1 mm2, length: 1 m }\n  - { from: c, to: a, area: 1 mm2, length: 1 m }\n'
} | rig loop
judge loop 1 'loop'

{ head_of; printf 'parts:\n  a: { is: pump }\nneeds:\n  - '; head -c 60000 /dev/zero | tr '\0' '('; printf '\n'; } | rig formula
judge formula 1 'formula.rig.yaml:6:'

{ head_of; printf 'parts:\n'; for kind in panel battery supply controller converter fuse switch relay thermostat pump valve check-valve outlet coil tank; do
    printf '  %s: { is: %s }\n' $kind $kind; done
  printf 'cables:\n  - { from: panel, to: converter }\n  - { from: converter, to: pump, through: [fuse, switch, relay, thermostat] }\n'
  printf 'pipes:\n  - { from: tank, to: pump }\n  - { from: pump, to: valve, bore: 10 mm }\n  - { from: valve, to: coil }\n  - { from: coil, to: tank }\n'
} | rig bare
judge bare 0 'question'

mkdir "$folder/folder.rig.yaml"
judge folder 2 'folder'
rmdir "$folder/folder.rig.yaml"

ln -s missing "$folder/dangling.rig.yaml"
judge dangling 2 'dangling'
rm "$folder/dangling.rig.yaml"

mkfifo "$folder/pipe.rig.yaml"
judge pipe 2 'pipe'

echo "hostile: $passed passed, $failed failed"
[ $failed -eq 0 ]

# installed.sh - the tool where `make install` and `make deb` put it, its manual page, what the shells
# complete, and that nothing is left of it afterwards.   installed.sh PROGRAM
set -u
program=$(realpath "$1")
build=$(dirname "$program")
here=$(realpath "$(dirname "$0")")
root=$(realpath "$here/../..")
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
LC_ALL=C
export LC_ALL
failed=0
count=0

wrong() {
    echo "installed: $1"
    failed=1
}
# same WHAT WANTED GOT
same() {
    count=$((count + 1))
    [ "$2" = "$3" ] || { wrong "$1: '$3', not '$2'"; }
}
make_it() {
    (cd "$root" && make -s --no-print-directory BUILD="$build" "$@") >"$work/made" 2>&1 </dev/null ||
        { wrong "make $* fails:"; tail -n 5 "$work/made"; }
}

# ---- install, run, uninstall ----

tree=$work/tree
make_it install PREFIX=/opt/rigs DESTDIR="$tree"
share=$tree/opt/rigs/share
for file in bin/rigtally share/man/man1/rigtally.1 share/bash-completion/completions/rigtally \
    share/zsh/site-functions/_rigtally share/doc/rigtally/LICENSE share/doc/rigtally/README.md \
    share/doc/rigtally/docs/repositories.md share/doc/rigtally/examples/bench-warmer.rig.yaml; do
    count=$((count + 1))
    [ -s "$tree/opt/rigs/$file" ] || wrong "$file is not installed"
done
for folder in rules catalogue; do
    (cd "$root" && find $folder -name '*.yaml' | sort) >"$work/wanted"
    (cd "$share/rigtally" && find $folder -type f | sort) >"$work/got"
    cmp -s "$work/wanted" "$work/got" || wrong "$folder is not installed whole"
done
(cd / && "$tree/opt/rigs/bin/rigtally" check --brief "$share/doc/rigtally/examples/bench-warmer.rig.yaml") >"$work/there" 2>&1
(cd "$root/examples" && "$program" check --brief bench-warmer.rig.yaml) >"$work/here" 2>&1
same "findings where it is installed" "$(grep -c '^  error' "$work/here")" "$(grep -c '^  error' "$work/there")"
grep -q '^  error' "$work/there" || wrong "the installed tool judges nothing"
cp -r "$tree" "$work/other"
printf 'mine\n' >"$work/other/opt/rigs/share/man/man1/mine.1"
make_it uninstall PREFIX=/opt/rigs DESTDIR="$tree"
make_it uninstall PREFIX=/opt/rigs DESTDIR="$work/other"
same "what is left after uninstall" "" "$(find "$tree" ! -type d -o -name '*rigtally*')"
same "what else is there" "$work/other/opt/rigs/share/man/man1/mine.1" "$(find "$work/other" ! -type d)"

# ---- a Debian package ----

if command -v dpkg-deb >/dev/null && command -v dpkg-shlibdeps >/dev/null && command -v strip >/dev/null; then
    make_it deb
    package=$(ls "$build"/rigtally_*.deb)
    dpkg-deb -x "$package" "$work/package" || wrong "the package can't be opened"
    (cd / && "$work/package/usr/bin/rigtally" check --brief "$work/package/usr/share/doc/rigtally/examples/bench-warmer.rig.yaml") >"$work/there" 2>&1
    same "findings of the packaged tool" "$(grep -c '^  error' "$work/here")" "$(grep -c '^  error' "$work/there")"
    same "its version" "$("$program" --version | sed 's/^rigtally \([^,]*\),.*/\1/')" "$(dpkg-deb -f "$package" Version)"
    for library in libc6 libcyaml1 libjansson4 libklu libyaml-0-2; do
        dpkg-deb -f "$package" Depends | grep -q "\<$library" || wrong "the package does not depend on $library"
    done
    same "what it can do without" libgvc6 "$(dpkg-deb -f "$package" Recommends)"
    for file in copyright changelog.gz README.md; do
        [ -s "$work/package/usr/share/doc/rigtally/$file" ] || wrong "the package has no $file"
    done
    [ -s "$work/package/usr/share/man/man1/rigtally.1.gz" ] || wrong "the package has no manual page"
    same "who owns what is in it" "root/root" "$(dpkg-deb -c "$package" | awk '{ print $2 }' | sort -u)"
    (cd "$work/package" && dpkg-deb -I "$package" md5sums | md5sum -c --quiet) >"$work/sums" 2>&1 || wrong "its sums are others"
    same "files without a sum" "$(cd "$work/package" && find usr -type f | sort)" "$(dpkg-deb -I "$package" md5sums | sed 's/^[0-9a-f]*  //')"
else
    echo "installed: the Debian package is skipped: there is no dpkg-dev"
fi

# ---- the manual page: every command and option of the tool's own help ----

page=$build/share/man/man1/rigtally.1
commands=$("$program" --help | sed -n 's/^  rigtally \([a-z][a-z]*\) .*/\1/p')
[ "$(echo "$commands" | wc -l)" -ge 7 ] || wrong "the help lists no commands"
for command in $commands; do
    count=$((count + 1))
    grep -q "^\\.It Cm $command\\>" "$page" || wrong "the manual page has no $command"
    sed -n "/^\\.It Cm $command\\>/,/^\\.Fl .* \\.\$/p" "$page" >"$work/section"
    for option in $("$program" "$command" --help | grep -o '^  ...[ ]*--[a-z-]*' | sed 's/.*--//'); do
        count=$((count + 1))
        grep -q "^\\.Fl \\\\-$option " "$work/section" || wrong "the manual page gives $command no --$option"
        grep -q "^\\.It .*Fl \\\\-$option\\>" "$page" || wrong "the manual page does not say what --$option does"
    done
done
grep -q '@' "$page" && wrong "a mark is left in the manual page"
if command -v mandoc >/dev/null; then
    same "what mandoc has against the manual page" "" "$(mandoc -Tlint -Wall "$page")"
else
    echo "installed: the look at the manual page is skipped: there is no mandoc"
fi

# ---- the reference: every kind, attribute and rule ----

# The names are asked of the tool itself.
pages=$build/share/doc/rigtally
"$program" rule | sed 's/^  \([^ ]*\).*/\1/' | sort >"$work/wanted"
same "the rules of the reference" "$(cat "$work/wanted")" "$(sed -n 's/^### //p' "$pages/rules.md" | sort)"
"$program" schema | jq -r '.definitions | to_entries[] | select(.key | startswith("kind-")) | .key[5:]' | sort >"$work/wanted"
sed -n 's/^## //p' "$pages/kinds.md" | sort >"$work/got"
same "kinds that the reference lacks" "" "$(comm -23 "$work/wanted" "$work/got")"
"$program" schema | jq -r '[.definitions | to_entries[] | select(.key | startswith("kind-")) | .value.properties | keys[]] | unique[]' |
    grep -vxE 'is|use|through|from|to|id' | sort >"$work/wanted"
sed -n 's/^| `\([a-z_0-9]*\)` |.*/\1/p' "$pages/kinds.md" | sort -u >"$work/got"
same "attributes that the reference lacks" "" "$(comm -23 "$work/wanted" "$work/got")"
[ "$(wc -l <"$work/wanted")" -gt 100 ] || wrong "the schema knows few attributes"

# ---- bash ----

mkdir -p "$work/rigs/deep" "$work/rigs/my rigs"
touch "$work/rigs/a.rig.yaml" "$work/rigs/b c.rig.yaml" "$work/rigs/notes.txt" "$work/rigs/rules.yaml"
# complete WORD... : what bash offers for the last word, a line each
complete() {
    (cd "$work/rigs" && bash --norc -c '
        . "$0"
        COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
        _rigtally 2>&1
        printf "%s\n" "${COMPREPLY[@]}" | sort' "$build/share/bash-completion/completions/rigtally" "$@" </dev/null)
}
# offers WANTED WORD...
offers() {
    wanted=$1
    shift
    same "bash, $*" "$wanted" "$(complete "$@" | tr '\n' ' ' | sed 's/ $//')"
}
if command -v bash >/dev/null; then
    offers "check" rigtally ch
    offers "--help --version" rigtally --
    offers "--help --version $(echo "$commands" | sort | tr '\n' ' ' | sed 's/ $//')" rigtally ""
    for command in $commands; do
        "$program" "$command" --help | grep -o '^  ...[ ]*--[a-z-]*' | sed 's/.*--/--/' | sort | tr '\n' ' ' >"$work/options"
        same "bash, the options of $command" "$(sed 's/ $//' "$work/options")" "$(complete rigtally "$command" -- | tr '\n' ' ' | sed 's/ $//')"
    done
    offers "-j" rigtally check -j
    offers "json lines markdown sarif text" rigtally check --format ""
    offers "json text" rigtally figures --format ""
    offers "json" rigtally check --format = js
    offers "caution error question" rigtally check --fail-at =
    offers "dark dead-end" rigtally check --under d
    offers "always auto" rigtally rule --color a
    offers "a.rig.yaml b c.rig.yaml deep my rigs" rigtally check ""
    offers "b c.rig.yaml" rigtally figures --brief b
    offers "a.rig.yaml b c.rig.yaml deep my rigs rules.yaml" rigtally prove ""
    offers "deep my rigs" rigtally check --rules ""
    offers "a.rig.yaml b c.rig.yaml deep my rigs notes.txt rules.yaml" rigtally check --since-baseline ""
    offers "" rigtally check --today ""
    offers "" rigtally schema ""
    offers "" rigtally nothing ""
    offers "$("$program" new | sed -n 's/^  \([a-z-]*\)  *[A-Z].*/\1/p' | tr '\n' ' ' | sed 's/ $//')" rigtally new ""
    "$program" rule | sed 's/^  \([^ ]*\).*/\1/' >"$work/rules"
    same "bash, the rules" "$({ cat "$work/rules"; sed 's/[.].*//' "$work/rules"; } | sort -u)" "$(complete rigtally rule "")"
    same "bash, the rules of --only" "$(grep '^pump' "$work/rules" | sort; )" "$(complete rigtally check --only pump.)"
    complete rigtally part "" >"$work/parts"
    for name in pump panel fuse-blade-10a; do
        grep -qx "$name" "$work/parts" || wrong "bash, part: there is no $name"
    done
else
    echo "installed: the completion of bash is skipped: there is no bash"
fi

# ---- zsh ----

# In a terminal of its own: a word is typed, the tab key struck, and what then stands in the line is read.
cat >"$work/type.zsh" <<'END'
zmodload zsh/zpty
zpty shell "zsh -f -i"
zpty -w shell "PS1=; PROMPT_EOL_MARK=; fpath=($1 \$fpath); autoload -Uz compinit; compinit -D -u; setopt no_auto_menu no_beep; \
stty rows 50 columns 500; rigtally() { print -r -- \"<\${(j:|:)@}>\" }; print re''ady"
zpty -r shell seen '*ready*'
zpty -n -w shell "$2"$'\t\r'
zpty -r shell seen '*<*>*'
seen=${seen##*'<'}
print -r -- "${seen%%'>'*}"
END
# types WANTED LINE : LINE, completed and run, hands these words to the tool
types() {
    same "zsh, $2" "$1" "$(cd "$work/rigs" && TERM=xterm timeout 10 zsh -f "$work/type.zsh" "$build/share/zsh/site-functions" "$2" 2>&1)"
}
if command -v zsh >/dev/null; then
    zsh -n "$build/share/zsh/site-functions/_rigtally" || wrong "zsh can't read its completion"
    types "check" "rigtally che"
    types "check|--since-baseline" "rigtally check --sin"
    types "check|--format=markdown" "rigtally check --format=mar"
    types "check|--under|standstill" "rigtally check --under sta"
    types "check|--only|pump.clears-lift" "rigtally check --only pump.cl"
    types "rule|fuse.breaks-dc" "rigtally rule fuse.br"
    types "part|fuse-blade-10a" "rigtally part fuse-blade-10"
    types "new|fountain" "rigtally new fou"
    types "figures|a.rig.yaml" "rigtally figures a"
    types "prove|rules.yaml" "rigtally prove ru"
else
    echo "installed: the completion of zsh is skipped: there is no zsh"
fi

[ $failed -eq 0 ] && echo "installed: $count things as they should be"
exit $failed

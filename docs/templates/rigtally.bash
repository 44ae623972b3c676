# bash completion for rigtally @version@

# Puts the words of a list that begin with $1 into COMPREPLY, or those files that a mark stands for.
_rigtally_offer() {
    local rules="@rules@"
    local parts="@parts@"
    local starters="@starters@"
    local begin=$1 words=$2
    case $words in
        :rigs:) _rigtally_files "$begin" '*.rig.yaml' ;;
        :rule-files:) _rigtally_files "$begin" '*.yaml' ;;
        :file:) _rigtally_files "$begin" '*' ;;
        :folder:) _rigtally_files "$begin" '' ;;
        :rules:) mapfile -t COMPREPLY < <(compgen -W "$rules" -- "$begin") ;;
        :parts:) mapfile -t COMPREPLY < <(compgen -W "$parts" -- "$begin") ;;
        :starters:) mapfile -t COMPREPLY < <(compgen -W "$starters" -- "$begin") ;;
        *) mapfile -t COMPREPLY < <(compgen -W "$words" -- "$begin") ;;
    esac
}

# Folders, and the files of this pattern.
_rigtally_files() {
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(
        compgen -d -- "$1"
        [ -z "$2" ] || compgen -f -X "!$2" -- "$1" | while IFS= read -r file; do
            [ -d "$file" ] || printf '%s\n' "$file"
        done
    )
}

_rigtally() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]-} words=
    COMPREPLY=()
    # bash cuts --format=json into three words.
    if [ "$word" = "=" ]; then
        word=
    elif [ "$before" = "=" ] && [ "$COMP_CWORD" -gt 2 ]; then
        before=${COMP_WORDS[COMP_CWORD - 2]}
    fi
    if [ "$COMP_CWORD" -eq 1 ]; then
        _rigtally_offer "$word" "@commands@ --help --version"
        return
    fi
    case "$command $before" in
@bash-values@
        *) before= ;;
    esac
    if [ -n "$before" ]; then
        _rigtally_offer "$word" "$words"
        return
    fi
    case $word in
        -*)
            case $command in
@bash-options@
            esac
            ;;
        *)
            case $command in
@bash-operands@
            esac
            ;;
    esac
    _rigtally_offer "$word" "$words"
}

complete -F _rigtally rigtally

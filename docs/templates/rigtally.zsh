#compdef rigtally
# zsh completion for rigtally @version@

_rigtally() {
  local -a commands rules parts starters
  commands=(
@zsh-commands@
  )
  rules=(@rules@)
  parts=(@parts@)
  starters=(@starters@)
  if (( CURRENT == 2 )); then
    if [[ $words[CURRENT] == -* ]]; then
      compadd -- --help --version
    else
      _describe command commands
    fi
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
@zsh-arguments@
  esac
}

if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
  _rigtally "$@"
else
  compdef _rigtally rigtally
fi

"""Completion in bash with names quoted as the shell wants them: a name is never run or split."""

from __future__ import annotations

from click.shell_completion import BashComplete, add_completion_class

#: Within quotes that were opened only what they leave special is escaped; a name with ``!`` cannot
#: be escaped within double ones and is not offered there.
_SCRIPT = r"""%(complete_func)s() {
    local response type value word="${COMP_WORDS[COMP_CWORD]}"
    response=$(IFS=$'\n'; env COMP_WORDS="${COMP_WORDS[*]}" COMP_CWORD=$COMP_CWORD \
%(complete_var)s=bash_complete "$1")
    COMPREPLY=()
    while IFS=',' read -r type value; do
        case $type in
            dir) compopt -o dirnames ;;
            file) compopt -o default ;;
            plain)
                case $word in
                    \'*) value=${value//\'/\'\\\'\'} ;;
                    \"*)
                        [[ $value == *'!'* ]] && continue
                        value=${value//\\/\\\\}
                        value=${value//\"/\\\"}
                        value=${value//\$/\\\$}
                        value=${value//\`/\\\`} ;;
                    *) printf -v value '%%q' "$value" ;;
                esac
                COMPREPLY+=("$value") ;;
        esac
    done <<< "$response"
}
complete -o nosort -F %(complete_func)s %(prog_name)s
"""


class _Bash(BashComplete):
    source_template = _SCRIPT


def use() -> None:
    """Puts it in the place of click's own script."""
    add_completion_class(_Bash, "bash")

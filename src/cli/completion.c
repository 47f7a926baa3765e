/* SPDX-License-Identifier: MIT */
/*
 * Completion for shells (help.h). What may follow is worked out by the program itself, `permille
 * complete`: it knows the tables and the library. A shell's script only takes the line apart,
 * without expanding anything in it, and puts quotes around the answers as the line needs them.
 */
#include "help.h"

#include <string.h>

/* The word under the cursor is what readline takes it for: it begins behind the last of
 * COMP_WORDBREAKS that is not quoted, a colon for instance. `cut` is what stands before that. */
static const char bash[] =
    "_permille()\n"
    "{\n"
    "    local line=${COMP_LINE:0:COMP_POINT} word='' raw='' cut='' mode='' some='' c name\n"
    "    local -a words=()\n"
    "    local -i i=0\n"
    "    while ((i < ${#line})); do\n"
    "        c=${line:i:1}\n"
    "        i+=1\n"
    "        if [[ $c == \\\\ && $mode != \\' ]]; then\n"
    "            word+=${line:i:1} raw+=$c${line:i:1} some=1\n"
    "            i+=1\n"
    "            continue\n"
    "        elif [[ -n $mode ]]; then\n"
    "            if [[ $c == \"$mode\" ]]; then mode=; else word+=$c; fi\n"
    "        elif [[ $c == [\\'\\\"] ]]; then\n"
    "            mode=$c some=1\n"
    "        elif [[ $c == [[:space:]] ]]; then\n"
    "            [[ -n $some ]] && words+=(\"$word\")\n"
    "            word='' raw='' cut='' some=''\n"
    "            continue\n"
    "        else\n"
    "            word+=$c some=1\n"
    "            [[ $COMP_WORDBREAKS == *\"$c\"* ]] && cut=$raw$c\n"
    "        fi\n"
    "        raw+=$c\n"
    "    done\n"
    "    COMPREPLY=()\n"
    "    while IFS= read -r name; do\n"
    "        if [[ $name == $'\\t'* ]]; then\n"
    "            compopt -o filenames\n"
    "            while IFS= read -r name; do\n"
    "                COMPREPLY+=(\"$name\")\n"
    "            done < <(compgen -f -- \"$word\")\n"
    "            return\n"
    "        fi\n"
    "        name=${name%%$'\\t'*}\n"
    "        case $mode in\n"
    "        \\') name=${name//\\'/\\'\\\\\\'\\'} ;;\n"
    "        \\\") name=${name//\\\\/\\\\\\\\}\n"
    "            name=${name//\\\"/\\\\\\\"}\n"
    "            name=${name//\\$/\\\\\\$}\n"
    "            name=${name//\\`/\\\\\\`} ;;\n"
    "        *) printf -v name %q \"$name\"\n"
    "            name=${name:${#cut}} ;;\n"
    "        esac\n"
    "        [[ -n $mode && $name == *\"$mode\" ]] && name+=$mode\n" /* readline adds none then */
    "        COMPREPLY+=(\"$name\")\n"
    "    done < <(\"${words[0]/#\\~\\//$HOME/}\" complete -- \"${words[@]:1}\" \"$word\" "
    "2>/dev/null)\n"
    "}\n"
    "complete -F _permille permille\n";

static const char zsh[] =
    "#compdef permille\n"
    "_permille()\n"
    "{\n"
    "    local program=${${(Q)words[1]}/#\\~\\//$HOME/}\n"
    "    local -a typed found\n"
    "    typed=(\"${(@Q)words[2,CURRENT-1]}\")\n"
    "    ((CURRENT > 2)) || typed=()\n"
    "    found=(\"${(@f)$($program complete -- \"${typed[@]}\" \"${(Q)PREFIX}\" 2>/dev/null)}\")\n"
    "    if [[ ${found[1]} == $'\\t'* ]]; then\n"
    "        _files\n"
    "        return\n"
    "    fi\n"
    "    found=(\"${(@)found%%$'\\t'*}\")\n"
    "    found=(\"${(@)found:#}\")\n"
    "    ((${#found})) && compadd -U -- \"${found[@]}\"\n"
    "}\n"
    "if [[ ${funcstack[1]} == _permille ]]; then\n"
    "    _permille \"$@\"\n"
    "else\n"
    "    compdef _permille permille\n"
    "fi\n";

static const char fish[] =
    "function __permille_complete\n"
    "    set -l -- typed (commandline -opc)\n"
    "    set -l -- raw (commandline -ct)\n"
    "    set -l -- current (string unescape -- $raw; or string unescape -- $raw\\\"; "
    "or string unescape -- $raw\\')\n"
    "    set -l -- program $typed[1]\n"
    "    set -e typed[1]\n"
    "    set -l -- found ($program complete -- $typed \"$current\" 2>/dev/null)\n"
    "    if string match -q -- \\t'*' $found[1]\n"
    "        __fish_complete_path (commandline -ct)\n"
    "    else\n"
    "        printf '%s\\n' $found\n"
    "    end\n"
    "end\n"
    "complete -c permille -f -a '(__permille_complete)'\n";

void pm_help_completion(struct pm_text *out, const char *shell)
{
    pm_text_add(out, strcmp(shell, "fish") == 0 ? fish : strcmp(shell, "zsh") == 0 ? zsh : bash);
}

/* SPDX-License-Identifier: MIT */
/* Completion for shells (help.h): commands, their second words, options, and the values of options
 * that have a fixed list. */
#include "help.h"
#include "parse.h"

#include <string.h>

/* ---- walking the table ---- */

/* Whether an earlier command begins with the same word. */
static bool said_before(const struct pm_cli_topics *topics, size_t n, size_t length)
{
    const char *name = pm_cli_command_at(topics, n)->name;
    for (size_t i = 0; i < n; i++) {
        const char *other = pm_cli_command_at(topics, i)->name;
        if (strcspn(other, " ") == length && memcmp(name, other, length) == 0)
            return true;
    }
    return false;
}

/* "a|b|c" as "a b c". */
static void add_words(struct pm_text *out, const char *words)
{
    for (; *words != '\0'; words++)
        pm_text_add_char(out, *words == '|' ? ' ' : *words);
}

static void add_option_names(struct pm_text *out, const struct pm_cli_option *option)
{
    for (; option != NULL && option->name != NULL; option++)
        pm_text_addf(out, " --%s", option->name);
}

/* Options that do not ask for their value take none; the others are skipped with their value when
 * the command is looked for. One pattern "--a|--b" of them all, each named once. */
static void add_valued_options(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const char *between = "";
    for (const struct pm_cli_option *o = pm_cli_global_options; o->name != NULL; o++)
        if (o->value != NULL) {
            pm_text_addf(out, "%s--%s", between, o->name);
            between = "|";
        }
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        const struct pm_cli_option *o = pm_cli_options(command);
        for (; o != NULL && o->name != NULL; o++)
            if (o->value != NULL)
                pm_text_addf(out, "%s--%s", between, o->name);
    }
}

static void add_first_words(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        const size_t length = strcspn(command->name, " ");
        if (said_before(topics, n, length))
            continue;
        pm_text_add(out, n > 0 ? " " : "");
        pm_text_add_bytes(out, command->name, length);
    }
}

static void add_second_words(struct pm_text *out, const struct pm_cli_topics *topics,
                             const char *group, size_t length)
{
    const struct pm_cli_command *command;
    const char *between = "";
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strncmp(command->name, group, length) == 0 && command->name[length] == ' ') {
            pm_text_addf(out, "%s%s", between, command->name + length + 1);
            between = " ";
        }
}

/* ---- bash, and zsh through its own completion of bash functions ---- */

static const char bash_head[] =
    "_permille_words()\n"
    "{\n"
    "    local word=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD-1]}\n"
    "    local first= second= words= i\n"
    "    for ((i = 1; i < COMP_CWORD; i++)); do\n"
    "        case ${COMP_WORDS[i]} in\n";

static const char bash_middle[] =
    "        -*) ;;\n"
    "        *) if [[ -z $first ]]; then first=${COMP_WORDS[i]}\n"
    "           elif [[ -z $second ]]; then second=${COMP_WORDS[i]}; fi ;;\n"
    "        esac\n"
    "    done\n"
    "    case $previous in\n"
    "    --db) COMPREPLY=($(compgen -f -- \"$word\")); return ;;\n"
    "    esac\n";

/* Names come from the library in use, asked for through the program itself; they may hold blanks.
 */
static const char bash_names_head[] =
    "    if [[ $word != -* && -n $kinds ]]; then\n"
    "        local -a rest=() of=($kinds) db=()\n"
    "        local skip=1 kind= formula= name= plain=\n"
    "        [[ $pair == 1 ]] && skip=2\n"
    "        for ((i = 1; i < COMP_CWORD; i++)); do\n"
    "            case ${COMP_WORDS[i]} in\n"
    "            --db) ((i++)); db=(--db \"${COMP_WORDS[i]}\") ;;\n";

/* The program compares, so that case and accents are ignored and both shells can run this. */
static const char bash_names_tail[] =
    "            -*) ;;\n"
    "            *) if ((skip > 0)); then ((skip--)); else rest+=(\"${COMP_WORDS[i]}\"); fi ;;\n"
    "            esac\n"
    "        done\n"
    "        kind=${of[${#rest[@]}]:-${of[${#of[@]}-1]}}\n"
    "        formula=$(eval \"printf %s ${rest[0]}\" 2>/dev/null)\n"
    "        plain=$(eval \"printf %s $word\" 2>/dev/null || printf %s \"$word\")\n"
    "        case $kind in\n"
    "        -) ;;\n"
    "        formulas|trials|materials|bottles|lines)\n"
    "            [[ $kind == lines ]] || formula=\n"
    "            while IFS= read -r name; do\n"
    "                COMPREPLY+=(\"$(printf %q \"$name\")\")\n"
    "            done < <(\"${COMP_WORDS[0]}\" \"${db[@]}\" names $kind \"--begins=$plain\" "
    "${formula:+\"$formula\"} 2>/dev/null) ;;\n"
    "        *) words=${kind//|/ } ;;\n"
    "        esac\n"
    "        [[ ${#COMPREPLY[@]} -gt 0 ]] && return\n"
    "    fi\n";

static const char bash_tail[] = "    COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n"
                                "}\n";

/* "new" as the pattern new:*, "material add" as material:add. */
static void add_bash_pattern(struct pm_text *out, const struct pm_cli_command *command)
{
    const size_t length = strcspn(command->name, " ");
    pm_text_add_bytes(out, command->name, length);
    pm_text_addf(out, ":%s", command->name[length] == ' ' ? command->name + length + 1 : "*");
}

static void add_bash_values(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const struct pm_cli_command *command;

    pm_text_add(out, "    case $first:$second:$previous in\n");
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        const struct pm_cli_option *o = pm_cli_options(command);
        for (; o != NULL && o->name != NULL; o++) {
            if (o->words == NULL)
                continue;
            pm_text_add(out, "    ");
            add_bash_pattern(out, command);
            pm_text_addf(out, ":--%s) words='", o->name);
            add_words(out, o->words);
            pm_text_add(out, "' ;;\n");
        }
    }
    pm_text_add(out, "    esac\n");
}

/* What may follow once the command is known, or the commands themselves. */
static void add_bash_words(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const struct pm_cli_command *command;

    pm_text_add(out, "    [[ -n $words ]] || case $first:$second in\n    :) words='");
    add_first_words(out, topics);
    add_option_names(out, pm_cli_global_options);
    pm_text_add(out, "' ;;\n");
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        const size_t length = strcspn(command->name, " ");
        if (command->name[length] == ' ' && !said_before(topics, n, length)) {
            pm_text_add(out, "    ");
            pm_text_add_bytes(out, command->name, length);
            pm_text_add(out, ":) words='");
            add_second_words(out, topics, command->name, length);
            pm_text_add(out, "' ;;\n");
        }
    }
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        pm_text_add(out, "    ");
        add_bash_pattern(out, command);
        pm_text_add(out, ") words='");
        if (strcmp(command->name, "help") == 0)
            add_first_words(out, topics);
        add_option_names(out, pm_cli_options(command));
        add_option_names(out, pm_cli_global_options);
        pm_text_add(out, "' ;;\n");
    }
    pm_text_add(out, "    esac\n");
}

/* What the operands of a command are, one word each: a kind of names, words to choose from, or "-".
 */
static void add_kinds(struct pm_text *out, const struct pm_cli_command *command)
{
    static const struct {
        const char *operand, *kind;
    } known[] = {{"F", "formulas"},
                 {"F/N", "trials"},
                 {"F/N...", "trials"},
                 {"F[/N]", "trials"},
                 {"[F[/N]]...", "trials"},
                 {"[F/N]", "trials"},
                 {"[F]", "formulas"},
                 {"F/1", "trials"},
                 {"F/2...", "trials"},
                 {"LINE", "lines"},
                 {"LINE...", "lines"},
                 {"MATERIAL", "materials"},
                 {"INTO", "materials"},
                 {"BOTTLE", "bottles"},
                 {"B", "bottles"},
                 {"STANCE", "free|held|carrier|resting"},
                 {"MODE", "core|share|carrier|open"}};
    const bool materials = strncmp(command->name, "material", 8) == 0;
    const char *between = "";
    for (const char *at = command->operands; *at != '\0'; at += strspn(at, " ")) {
        const size_t length = strcspn(at, " ");
        const char *kind =
            materials && length == 4 && memcmp(at, "NAME", 4) == 0 ? "materials" : "-";
        for (size_t i = 0; i < sizeof known / sizeof *known; i++)
            if (strlen(known[i].operand) == length && memcmp(known[i].operand, at, length) == 0)
                kind = known[i].kind;
        pm_text_addf(out, "%s%s", between, kind);
        between = " ";
        at += length;
    }
}

static void add_bash_kinds(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const struct pm_cli_command *command;
    pm_text_add(out, "    local kinds= pair=\n    case $first:$second in\n");
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
        if (command->operands[0] == '\0')
            continue;
        pm_text_add(out, "    ");
        add_bash_pattern(out, command);
        pm_text_add(out, ") kinds='");
        add_kinds(out, command);
        pm_text_addf(out, "'%s ;;\n", strchr(command->name, ' ') != NULL ? " pair=1" : "");
    }
    pm_text_add(out, "    esac\n");
    pm_text_add(out, bash_names_head);
    pm_text_add(out, "            ");
    add_valued_options(out, topics);
    pm_text_add(out, ") ((i++)) ;;\n");
    pm_text_add(out, bash_names_tail);
}

static void add_bash_function(struct pm_text *out, const struct pm_cli_topics *topics)
{
    pm_text_add(out, bash_head);
    pm_text_add(out, "        ");
    add_valued_options(out, topics);
    pm_text_add(out, ") ((i++)) ;;\n");
    pm_text_add(out, bash_middle);
    add_bash_values(out, topics);
    add_bash_words(out, topics);
    add_bash_kinds(out, topics);
    pm_text_add(out, bash_tail);
}

/* ---- fish ---- */

/* In single quotes fish knows only \' and \\. */
static void add_fish_quoted(struct pm_text *out, const char *text)
{
    pm_text_add_char(out, '\'');
    for (; *text != '\0'; text++) {
        if (*text == '\'' || *text == '\\')
            pm_text_add_char(out, '\\');
        pm_text_add_char(out, *text);
    }
    pm_text_add_char(out, '\'');
}

static void add_fish_option(struct pm_text *out, const struct pm_cli_option *option)
{
    pm_text_addf(out, " -l %s", option->name);
    if (option->words != NULL) {
        pm_text_add(out, " -xa '");
        add_words(out, option->words);
        pm_text_add_char(out, '\'');
    } else if (option->value != NULL) {
        pm_text_add(out, strcmp(option->value, "FILE") == 0 ? " -rF" : " -x");
    }
    pm_text_add(out, " -d ");
    add_fish_quoted(out, option->help);
    pm_text_add_char(out, '\n');
}

/* The names that a command's operands may be; lines are those of the formula named before. */
static void add_fish_names(struct pm_text *out, const struct pm_cli_command *command)
{
    static const char *const kinds[] = {"formulas", "trials", "materials", "bottles", "lines"};
    const size_t length = strcspn(command->name, " ");
    const bool pair = command->name[length] == ' ';
    struct pm_text said = PM_TEXT_EMPTY;
    add_kinds(&said, command);
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strstr(pm_text_get(&said), kinds[i]) == NULL)
            continue;
        pm_text_add(out, "complete -c permille -n '__fish_seen_subcommand_from ");
        pm_text_add_bytes(out, command->name, length);
        if (pair)
            pm_text_addf(out, "; and __fish_seen_subcommand_from %s", command->name + length + 1);
        pm_text_addf(out, "' -a '(permille names %s%s 2>/dev/null)'\n", kinds[i],
                     strcmp(kinds[i], "lines") == 0 ? " (commandline -opc)[3]" : "");
    }
    pm_text_release(&said);
}

static void add_fish_command(struct pm_text *out, const struct pm_cli_command *command, bool named)
{
    const size_t length = strcspn(command->name, " ");
    const bool pair = command->name[length] == ' ';

    if (pair) {
        pm_text_add(out, "complete -c permille -n '__fish_seen_subcommand_from ");
        pm_text_add_bytes(out, command->name, length);
        pm_text_addf(out, "' -a %s -d ", command->name + length + 1);
        add_fish_quoted(out, command->help);
        pm_text_add_char(out, '\n');
    }
    if (!named) {
        pm_text_add(out, "complete -c permille -n __fish_use_subcommand -a ");
        pm_text_add_bytes(out, command->name, length);
        if (!pair) {
            pm_text_add(out, " -d ");
            add_fish_quoted(out, command->help);
        }
        pm_text_add_char(out, '\n');
    }
    add_fish_names(out, command);
    const struct pm_cli_option *option = pm_cli_options(command);
    for (; option != NULL && option->name != NULL; option++) {
        pm_text_add(out, "complete -c permille -n '__fish_seen_subcommand_from ");
        pm_text_add_bytes(out, command->name, length);
        if (pair)
            pm_text_addf(out, "; and __fish_seen_subcommand_from %s", command->name + length + 1);
        pm_text_add_char(out, '\'');
        add_fish_option(out, option);
    }
}

static void add_fish(struct pm_text *out, const struct pm_cli_topics *topics)
{
    const struct pm_cli_command *command;

    pm_text_add(out, "complete -c permille -f\n");
    for (const struct pm_cli_option *o = pm_cli_global_options; o->name != NULL; o++) {
        pm_text_add(out, "complete -c permille");
        add_fish_option(out, o);
    }
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        add_fish_command(out, command, said_before(topics, n, strcspn(command->name, " ")));
}

void pm_help_completion(struct pm_text *out, const struct pm_cli_topics *topics, const char *shell)
{
    if (strcmp(shell, "fish") == 0) {
        add_fish(out, topics);
    } else if (strcmp(shell, "zsh") == 0) {
        pm_text_add(out, "#compdef permille\n"
                         "autoload -U +X bashcompinit && bashcompinit\n");
        add_bash_function(out, topics);
        pm_text_add(out, "_bash_complete -o default -F _permille_words\n");
    } else {
        add_bash_function(out, topics);
        pm_text_add(out, "complete -F _permille_words permille\n");
    }
}

/* SPDX-License-Identifier: MIT */
/* The manual page, permille.1 (help.h). */
#include "help.h"

#include "permille/base/version.h"

#include <string.h>

/* Text as the man macros want it: no line may begin with a control character, and a dash that can
 * be typed is "\-". */
static void add_roff(struct pm_text *out, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const bool line_start = i == 0 || text[i - 1] == '\n';
        if (line_start && (text[i] == '.' || text[i] == '\''))
            pm_text_add(out, "\\&");
        if (text[i] == '\\')
            pm_text_add(out, "\\e");
        else if (text[i] == '-')
            pm_text_add(out, "\\-");
        else
            pm_text_add_char(out, text[i]);
    }
}

static void add_roff_text(struct pm_text *out, const char *text)
{
    add_roff(out, text, strlen(text));
}

/* A tagged paragraph. */
static void add_tagged(struct pm_text *out, const char *tag, const char *help)
{
    pm_text_add(out, ".TP\n\\fB");
    add_roff_text(out, tag);
    pm_text_add(out, "\\fR\n");
    add_roff_text(out, help);
    pm_text_add(out, ".\n");
}

static void add_options(struct pm_text *out, const struct pm_cli_option *option)
{
    for (; option != NULL && option->name != NULL; option++) {
        struct pm_text tag = PM_TEXT_EMPTY;
        pm_help_option(&tag, option);
        add_tagged(out, pm_text_get(&tag), option->help);
        pm_text_release(&tag);
    }
}

static void add_command(struct pm_text *out, const struct pm_cli_command *command)
{
    struct pm_text synopsis = PM_TEXT_EMPTY;

    pm_help_synopsis(&synopsis, command);
    add_tagged(out, pm_text_get(&synopsis), command->help);
    pm_text_release(&synopsis);
    if (command->more != NULL) {
        pm_text_add(out, ".IP\n");
        add_roff_text(out, command->more);
        pm_text_add_char(out, '\n');
    }
    if (pm_cli_options(command) != NULL) {
        pm_text_add(out, ".RS\n");
        add_options(out, pm_cli_options(command));
        pm_text_add(out, ".RE\n");
    }
}

/* One field of a line of the editor's actions: up to the next tab or the end of the line. */
static const char *next_field(const char *at, const char **field, size_t *length)
{
    *field = at;
    *length = strcspn(at, "\t\n");
    return at[*length] == '\t' ? at + *length + 1 : at + *length;
}

enum { LINE_MOST = 78 }; /* bytes of a line of the manual */

enum { GROUP, ID, KEYS, NAME, HELP, FIELDS };

static void add_editor(struct pm_text *out, const char *editor)
{
    const char *group = "";
    size_t group_length = 0;

    pm_text_add(
        out, ".SH THE EDITOR\n"
             "Every action with the keys it has at first and, in brackets, the word that\n"
             "names it in a key file. A key means the same in every room: the word of one of the\n"
             "verbs at the end changes it in all of them.\n");
    while (*editor != '\0') {
        const char *field[FIELDS];
        size_t length[FIELDS];
        for (int i = 0; i < FIELDS; i++)
            editor = next_field(editor, &field[i], &length[i]);
        editor += strcspn(editor, "\n");
        editor += *editor == '\n';

        if (length[GROUP] != group_length || memcmp(field[GROUP], group, group_length) != 0) {
            group = field[GROUP];
            group_length = length[GROUP];
            pm_text_add(out, ".SS ");
            add_roff(out, group, group_length);
            pm_text_add_char(out, '\n');
        }
        pm_text_add(out, ".TP\n\\fB");
        add_roff(out, field[KEYS], length[KEYS]);
        pm_text_add(out, length[KEYS] > 0 ? "\\fR  " : "\\fR");
        add_roff(out, field[NAME], length[NAME]);
        pm_text_add(out, " [");
        add_roff(out, field[ID], length[ID]);
        pm_text_add(out, "]\n");
        add_roff(out, field[HELP], length[HELP]);
        pm_text_add_char(out, '\n');
    }
}

static const char head[] =
    ".SH NAME\n"
    "permille \\- a formula editor for perfumers\n"
    ".SH SYNOPSIS\n"
    "\\fBpermille\\fR [\\fB\\-\\-db\\fR \\fIFILE\\fR]\n"
    ".br\n"
    "\\fBpermille\\fR [\\fB\\-\\-db\\fR \\fIFILE\\fR] \\fICOMMAND\\fR ... "
    "[\\fB\\-\\-json\\fR | \\fB\\-\\-csv\\fR]\n"
    ".SH DESCRIPTION\n"
    "Without a command, permille opens a full-screen editor for accords and perfumes, written in\n"
    "parts of a base such as 1000, over a library in one file. With a command it does one thing\n"
    "and ends; what the editor can do, a command can do.\n"
    ".PP\n"
    "\\fIF\\fR stands for a formula's name and means its draft; \\fIF\\fR/3 is its kept trial 3.\n"
    "A line is named by its material or accord, or by its place, #N. Strengths are written 10%,\n"
    "0.1% or neat; masses 12.5g or 250mg; parts as numbers in the formula's base.\n"
    "Options may stand anywhere; \\fB\\-\\-\\fR ends them.\n";

static const char tail[] =
    ".SH EXIT STATUS\n"
    ".TP\n0\nDone.\n"
    ".TP\n1\nRefused; one sentence on standard error says why, and nothing was changed.\n"
    ".TP\n2\nWrong usage, or no terminal for the editor; nothing was changed.\n"
    ".TP\n3\nDone, but the answer could not be given (its disk is full, its reader is gone), or\n"
    "the disk did not confirm what was written; standard error says which. Look before doing it\n"
    "again: a pour would be booked twice.\n"
    ".SH ENVIRONMENT\n"
    ".TP\n\\fBPERMILLE_DB\\fR\nThe library, when \\-\\-db is not given.\n"
    ".TP\n\\fBXDG_DATA_HOME\\fR\nWhere the usual library is, instead of ~/.local/share.\n"
    ".TP\n\\fBPERMILLE_LINEAR\\fR\nWhen set and neither empty nor 0, tables and the editor speak "
    "in\n"
    "plain lines, as with \\-\\-linear.\n"
    ".TP\n\\fBXDG_CONFIG_HOME\\fR\nWhere the settings of this machine are, instead of ~/.config.\n"
    ".TP\n\\fBNO_COLOR\\fR\nWhen set and not empty, the editor uses no colour.\n"
    ".TP\n\\fBESCDELAY\\fR\nMilliseconds the editor waits after Esc; 25 when not set.\n"
    ".TP\n\\fBLC_NUMERIC\\fR\nThe decimal sign in tables and in the editor. Both a point and a\n"
    "comma are read. JSON and CSV always use a point.\n"
    ".SH FILES\n"
    ".TP\n~/.local/share/permille/library.db\nThe library: one SQLite file.\n"
    ".TP\n~/.config/permille/settings\nThe settings of this machine, as permille settings set\n"
    "writes them: lines of a setting and its value.\n"
    ".TP\n~/.config/permille/keys\nKeys of one's own: lines of the word of an action or verb,\n"
    "and its keys.\n"
    ".SH STANDARDS\n"
    "JSON after RFC 8259, comma-separated values after RFC 4180, places of files after the XDG\n"
    "Base Directory Specification.\n"
    ".SH CAVEATS\n"
    "Skin limits, allergens and everything else about safety are aids with a date and a source,\n"
    "never a verdict. What is not known is shown as unknown. Current Standards, local law and a\n"
    "licensed assessor decide. Concentrated materials can burn, irritate and sensitise skin; many\n"
    "are flammable.\n";

/* Breaks lines of prose at blanks: long ones are hard to read and to compare. Requests stay whole,
 * and so does what stands behind .TP, which is one tag. A line must not begin with a request's
 * sign. */
static void add_wrapped(struct pm_text *out, const char *text)
{
    bool tag = false;
    while (*text != '\0') {
        const size_t line = strcspn(text, "\n");
        const bool request = *text == '.';
        size_t from = 0, blank = 0;
        for (size_t i = 0; i < line && !request && !tag; i++) {
            if (text[i] == ' ' && i > 0 && text[i + 1] != '.' && text[i + 1] != '\'' &&
                text[i + 1] != ' ' && text[i - 1] != ' ')
                blank = i;
            if (i - from >= LINE_MOST && blank > from) {
                pm_text_add_bytes(out, text + from, blank - from);
                pm_text_add_char(out, '\n');
                from = blank + 1;
            }
        }
        pm_text_add_bytes(out, text + from, line - from);
        pm_text_add_char(out, '\n');
        tag = request && strncmp(text, ".TP", 3) == 0;
        text += line + (text[line] == '\n');
    }
}

static void add_manual(struct pm_text *out, const struct pm_cli_topics *topics, const char *editor)
{
    pm_text_addf(out, ".TH PERMILLE 1 \"%s\" \"permille %s\" \"User Commands\"\n", PM_VERSION_DAY,
                 PM_VERSION);
    pm_text_add(out, head);
    pm_text_add(out, ".SH COMMANDS\n");
    for (size_t t = 0; t < topics->count; t++) {
        const struct pm_cli_topic *topic = topics->items[t];
        if (topic->title != NULL)
            pm_text_addf(out, ".SS %s\n", topic->title);
        for (size_t c = 0; c < topic->count; c++)
            add_command(out, &topic->commands[c]);
    }
    pm_text_add(out, ".SH OPTIONS\nWith every command:\n");
    add_options(out, pm_cli_global_options);
    if (editor[0] != '\0')
        add_editor(out, editor);
    pm_text_add(out, tail);
}

void pm_help_manual(struct pm_text *out, const struct pm_cli_topics *topics, const char *editor)
{
    struct pm_text manual = PM_TEXT_EMPTY;
    add_manual(&manual, topics, editor);
    add_wrapped(out, pm_text_get(&manual));
    out->failed = out->failed || !pm_text_ok(&manual);
    pm_text_release(&manual);
}

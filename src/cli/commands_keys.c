/* SPDX-License-Identifier: MIT */
/* Commands on the editor's keys: what it can do, and keys of one's own. */
#include "cli.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/settings.h"

#include <string.h>

static const struct pm_listing_column columns[] = {
    {.key = "action", .title = "action", .kind = PM_LISTING_TEXT},
    {.key = "keys", .title = "keys", .kind = PM_LISTING_TEXT},
    {.key = "name", .title = "name", .kind = PM_LISTING_TEXT},
    {.key = "group", .title = "group", .kind = PM_LISTING_TEXT},
    {.key = "help", .title = "what it does", .kind = PM_LISTING_TEXT},
};

enum { GROUP, ID, KEYS, NAME, HELP, FIELDS };

static void tell(void *context, const char *sentence)
{
    pm_cli_say(context, "%s", sentence);
}

/* The content of the key file; PM_REFUSED where there is no editor that has keys. */
static enum pm_status read_file(struct pm_cli *cli, char **out, struct pm_error *err)
{
    *out = NULL;
    if (cli->front->actions == NULL || cli->front->may_give == NULL)
        return pm_fail(err, PM_REFUSED, "There is no editor here.");
    return pm_machine_keys(out, err);
}

/* ---- listing ---- */

/* Whether every word of `wanted` (folded) stands in the line. */
static bool matches(const char *wanted, const char *line)
{
    char *folded = pm_fold(line);
    const bool found = folded != NULL && strstr(folded, wanted) != NULL;
    pm_free(folded);
    return found;
}

/* A line "group TAB id TAB keys TAB name TAB help"; it is cut at its tabs. */
static void add_row(struct pm_listing *table, char *line)
{
    static const int order[] = {ID, KEYS, NAME, GROUP, HELP};
    char *fields[FIELDS];
    for (int i = 0; i < FIELDS; i++) {
        const size_t length = strcspn(line, "\t");
        fields[i] = line;
        line += length + (line[length] == '\t');
        fields[i][length] = '\0';
    }
    for (int i = 0; i < FIELDS; i++)
        pm_listing_text(table, fields[order[i]][0] != '\0' ? fields[order[i]] : NULL);
}

static void add_rows(struct pm_listing *table, char *lines, const char *wanted)
{
    for (char *next; *lines != '\0'; lines = next) {
        const size_t length = strcspn(lines, "\n");
        next = lines + length + (lines[length] == '\n');
        lines[length] = '\0';
        if (matches(wanted, lines))
            add_row(table, lines);
    }
}

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_text lines = PM_TEXT_EMPTY;
    struct pm_listing table;
    char *file, *wanted = pm_fold(cli->operand_count > 0 ? cli->operands[0] : "");
    enum pm_status status = wanted != NULL ? read_file(cli, &file, err) : pm_fail_memory(err);
    if (status == PM_OK) {
        status = cli->front->actions(cli->front->context, file, tell, cli, &lines, err);
        pm_free(file);
    }
    if (status == PM_OK && !pm_text_ok(&lines))
        status = pm_fail_memory(err);
    if (status == PM_OK) {
        pm_listing_init(&table, PM_LISTING_COLUMNS(columns));
        if (lines.length > 0)
            add_rows(&table, lines.data, wanted);
        status = pm_listing_answer(&table, cli, "keys", "No action says so.", err);
    }
    pm_text_release(&lines);
    pm_free(wanted);
    return status;
}

/* ---- giving ---- */

/* The names behind the action, with blanks between: "u Ctrl-Z". */
static void join_keys(const struct pm_cli *cli, struct pm_text *out)
{
    for (size_t i = 1; i < cli->operand_count; i++)
        pm_text_addf(out, "%s%s", i > 1 ? " " : "", cli->operands[i]);
}

static enum pm_status give(struct pm_cli *cli, const char *keys, struct pm_error *err)
{
    const char *id = cli->operands[0];
    char *file;
    enum pm_status status = read_file(cli, &file, err);
    if (status == PM_OK)
        status = cli->front->may_give(cli->front->context, file, id, keys, err);
    pm_free(file);
    if (status == PM_OK)
        status = pm_machine_keys_put(id, keys[0] != '\0' ? keys : NULL, err);
    cli->done = cli->done || status == PM_OK;
    if (status == PM_OK)
        pm_cli_say(cli, "Keys of %s: %s, kept on this machine.", id,
                   keys[0] != '\0' ? keys : "the default ones");
    return status;
}

static enum pm_status run_set(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_text keys = PM_TEXT_EMPTY;
    join_keys(cli, &keys);
    enum pm_status status = pm_text_ok(&keys) ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && pm_is_blank(pm_text_get(&keys)))
        status = pm_cli_usage(cli, err, "Name a key, or none.");
    if (status == PM_OK)
        status = give(cli, pm_text_get(&keys), err);
    pm_text_release(&keys);
    return status;
}

static enum pm_status run_unset(struct pm_cli *cli, struct pm_error *err)
{
    return give(cli, "", err);
}

/* ---- the table ---- */

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("keys list", "[TEXT]", 0, 1, PM_CLI_TABLE,
                   "what the editor can do, and its keys",
                   .more = "The verbs at the end mean the same in every room: their words change "
                           "keys in all of them.",
                   .run = run_list),
    PM_CLI_COMMAND("keys set", "ACTION KEY...", 2, -1, PM_CLI_TEXT,
                   "give an action of the editor, or a verb, other keys",
                   .more = "Keys are named u, C, Space, Ctrl-F, Alt-s, F12; none takes all away. "
                           "Arrows, Enter and Esc stay where they are. What means something else "
                           "already is refused. They are kept in permille/keys of the "
                           "configuration folder.",
                   .run = run_set),
    PM_CLI_COMMAND("keys unset", "ACTION", 1, 1, PM_CLI_TEXT, "go back to the default keys",
                   .run = run_unset),
};

const struct pm_cli_topic pm_cli_topic_keys = {
    .title = "Keys of the editor",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};

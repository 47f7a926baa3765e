/* SPDX-License-Identifier: MIT */
/* Commands on materials. */
#include "cli.h"
#include "table.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/shelf.h"

#define LIST_MOST 10000000 /* a list is whole unless --limit says otherwise */

/* ---- answers ---- */

static void put_card(struct pm_json *json, const struct pm_material_card *card)
{
    pm_json_put_string(json, "material", card->name);
    pm_json_put_string(json, "kind", card->kind);
    pm_json_put_string(json, "cas", card->cas);
    pm_json_put_string(json, "family", card->family);
    pm_json_put_string(json, "note", card->note);
    pm_json_key(json, "synonyms");
    pm_json_open(json, '[');
    for (size_t i = 0; i < card->synonym_count; i++)
        pm_json_string(json, card->synonyms[i]);
    pm_json_close(json, ']');
    pm_json_put_bool(json, "set_aside", card->set_aside);
}

/* "VERB NAME" on standard error, and with --json the material as it now is. */
static enum pm_status tell(struct pm_cli *cli, int64_t id, const char *verb, struct pm_error *err)
{
    struct pm_material_card card;
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_json json;

    const enum pm_status status = pm_shelf_card(cli->studio, id, &card, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "%s %s", verb, card.name);
    pm_cli_say(cli, "%s.", pm_text_get(&sentence));
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "sentence", pm_text_get(&sentence));
        put_card(&json, &card);
        pm_json_close(&json, '}');
    }
    pm_text_release(&sentence);
    pm_material_card_release(&card);
    return PM_OK;
}

static void add_field(struct pm_text *out, const char *name, const char *value)
{
    if (value == NULL || value[0] == '\0')
        return;
    pm_text_addf(out, "%-10s", name);
    pm_cli_add_shown(out, value);
    pm_text_add_char(out, '\n');
}

static void add_card(struct pm_text *out, const struct pm_material_card *card)
{
    pm_cli_add_shown(out, card->name);
    pm_text_add(out, card->set_aside ? ", set aside\n" : "\n");
    add_field(out, "kind", card->kind);
    add_field(out, "CAS", card->cas);
    add_field(out, "family", card->family);
    for (size_t i = 0; i < card->synonym_count; i++)
        add_field(out, i == 0 ? "also" : "", card->synonyms[i]);
    add_field(out, "note", card->note);
}

/* ---- adding and editing ---- */

/* What the options say, into form; *synonyms is a new array (pm_free). */
static enum pm_status read_form(struct pm_cli *cli, struct pm_material_form *form,
                                const char ***synonyms, struct pm_error *err)
{
    const char *synonym;
    size_t at = 0;

    form->kind = pm_cli_value(cli, "kind");
    form->cas = pm_cli_value(cli, "cas");
    form->family = pm_cli_value(cli, "family");
    form->note = pm_cli_value(cli, "note");
    *synonyms = pm_alloc_array(cli->given_count + 1, sizeof **synonyms);
    if (*synonyms == NULL)
        return pm_fail_memory(err);
    while ((synonym = pm_cli_next_value(cli, "synonym", &at)) != NULL)
        (*synonyms)[form->synonym_count++] = synonym;
    form->synonyms = *synonyms;
    return PM_OK;
}

static enum pm_status run_add(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_material_form form = {.name = cli->operands[0]};
    const char **synonyms = NULL;
    int64_t id;

    enum pm_status status = read_form(cli, &form, &synonyms, err);
    /* Before opening: a refused first material leaves no library behind. */
    if (status == PM_OK)
        status = pm_shelf_check(&form, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_shelf_add(cli->studio, &form, &id, err);
    if (status == PM_OK)
        status = tell(cli, id, "New material", err);
    pm_free(synonyms);
    return status;
}

static enum pm_status find(struct pm_cli *cli, int64_t *id, struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_shelf_find(cli->studio, cli->operands[0], id, err) : status;
}

static enum pm_status run_edit(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_material_form form = {.name = pm_cli_value(cli, "name")};
    const char **synonyms = NULL;
    int64_t id;

    if (cli->given_count == pm_cli_has(cli, "db") + (size_t)pm_cli_has(cli, "json"))
        return pm_cli_usage(cli, err, "What is to be changed?");
    enum pm_status status = find(cli, &id, err);
    if (status == PM_OK)
        status = read_form(cli, &form, &synonyms, err);
    if (status == PM_OK)
        status = pm_shelf_edit(cli->studio, id, &form, err);
    if (status == PM_OK)
        status = tell(cli, id, "Changed", err);
    pm_free(synonyms);
    return status;
}

/* ---- going and coming back ---- */

/* What was removed can no longer be asked for. */
static void tell_removed(struct pm_cli *cli, const char *name)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_json json;

    pm_text_addf(&sentence, "Removed %s", name);
    pm_cli_say(cli, "%s.", pm_text_get(&sentence));
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "sentence", pm_text_get(&sentence));
        pm_json_put_string(&json, "material", name);
        pm_json_put_bool(&json, "set_aside", false);
        pm_json_close(&json, '}');
    }
    pm_text_release(&sentence);
}

static enum pm_status run_remove(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_material_card card;
    bool set_aside;
    int64_t id;

    enum pm_status status = find(cli, &id, err);
    if (status == PM_OK)
        status = pm_shelf_card(cli->studio, id, &card, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_remove(cli->studio, id, &set_aside, err);
    if (status == PM_OK && set_aside)
        status = tell(cli, id, "In use, so set aside:", err);
    else if (status == PM_OK)
        tell_removed(cli, card.name);
    pm_material_card_release(&card);
    return status;
}

static enum pm_status set_aside(struct pm_cli *cli, bool aside, struct pm_error *err)
{
    int64_t id;

    enum pm_status status = find(cli, &id, err);
    if (status == PM_OK)
        status = pm_shelf_set_aside(cli->studio, id, aside, err);
    if (status == PM_OK)
        status = tell(cli, id, aside ? "Set aside" : "Brought back", err);
    return status;
}

static enum pm_status run_aside(struct pm_cli *cli, struct pm_error *err)
{
    return set_aside(cli, true, err);
}

static enum pm_status run_back(struct pm_cli *cli, struct pm_error *err)
{
    return set_aside(cli, false, err);
}

/* ---- reading ---- */

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_material_card card;
    struct pm_json json;
    int64_t id;

    enum pm_status status = find(cli, &id, err);
    if (status == PM_OK)
        status = pm_shelf_card(cli->studio, id, &card, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_card(&json, &card);
        pm_json_close(&json, '}');
    } else {
        add_card(&cli->out, &card);
    }
    pm_material_card_release(&card);
    return PM_OK;
}

static const struct pm_column columns[] = {
    {.key = "material", .title = "material", .kind = PM_CELL_TEXT},
    {.key = "kind", .title = "kind", .kind = PM_CELL_TEXT},
    {.key = "cas", .kind = PM_CELL_TEXT},
    {.key = "family", .kind = PM_CELL_TEXT},
    {.key = "matched", .kind = PM_CELL_TEXT},
    {.title = "CAS", .kind = PM_CELL_TEXT},
    {.title = "family", .kind = PM_CELL_TEXT},
    {.title = "found as", .kind = PM_CELL_TEXT},
};

static void add_entry(struct pm_table *table, const struct pm_material_entry *entry, bool matched)
{
    pm_table_text(table, entry->name);
    pm_table_text(table, entry->kind);
    pm_table_text(table, entry->cas);
    pm_table_text(table, entry->family);
    pm_table_text(table, entry->matched);
    pm_table_text(table, entry->cas != NULL ? entry->cas : "");
    pm_table_text(table, entry->family != NULL ? entry->family : "");
    if (matched)
        pm_table_text(table, entry->matched != NULL ? entry->matched : "");
}

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    const char *text = cli->operand_count > 0 ? cli->operands[0] : "";
    const char *most = pm_cli_value(cli, "limit");
    struct pm_material_entries found;
    struct pm_table table;
    int64_t limit = LIST_MOST;
    enum pm_status status = PM_OK;

    if (most != NULL)
        status = pm_decimal_read(most, 0, "The limit", &limit, err);
    if (status == PM_OK && limit > LIST_MOST)
        limit = LIST_MOST;
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status =
            pm_shelf_search(cli->studio, text, (size_t)limit, pm_cli_has(cli, "all"), &found, err);
    if (status != PM_OK)
        return status;
    /* Without a text nothing was matched: no column for it. */
    const size_t count = sizeof columns / sizeof columns[0] - (text[0] == '\0' ? 1 : 0);
    pm_table_init(&table, columns, count);
    for (size_t i = 0; i < found.count; i++)
        add_entry(&table, &found.items[i], text[0] != '\0');
    pm_material_entries_release(&found);
    status = pm_table_answer(&table, cli, "materials", "No materials.", err);
    pm_table_release(&table);
    return status;
}

/* ---- the table ---- */

#define KIND_WORDS "chemical|natural|solvent|blend"

static const struct pm_cli_option add_options[] = {
    {.name = "cas", .value = "N", .help = "its CAS number; the check digit is verified"},
    {.name = "kind", .value = "KIND", .words = KIND_WORDS, .help = "chemical without it"},
    {.name = "synonym", .value = "S", .help = "another name it is found by", .many = true},
    {.name = "family", .value = "TEXT", .help = "what it smells of, in a word"},
    {.name = "note", .value = "TEXT", .help = "anything worth knowing"},
    {.name = NULL},
};

static const struct pm_cli_option edit_options[] = {
    {.name = "name", .value = "NAME", .help = "another name"},
    {.name = "cas", .value = "N", .help = "its CAS number; \"\" takes it away"},
    {.name = "kind", .value = "KIND", .words = KIND_WORDS, .help = "what it is"},
    {.name = "synonym", .value = "S", .help = "replaces all that were there", .many = true},
    {.name = "family", .value = "TEXT", .help = "what it smells of, in a word"},
    {.name = "note", .value = "TEXT", .help = "anything worth knowing"},
    {.name = NULL},
};

static const struct pm_cli_option list_options[] = {
    {.name = "all", .help = "also what was set aside"},
    {.name = "limit", .value = "N", .help = "at most N"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    {
        .name = "material add",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "put a new material on the shelf",
        .options = add_options,
        .run = run_add,
    },
    {
        .name = "material edit",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "change what is said about a material",
        .options = edit_options,
        .run = run_edit,
    },
    {
        .name = "material show",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "everything about a material, by name, synonym or CAS number",
        .run = run_show,
    },
    {
        .name = "material list",
        .operands = "[TEXT]",
        .least = 0,
        .most = 1,
        .forms = PM_CLI_JSON | PM_CLI_CSV,
        .help = "list the materials, or find some by name, synonym or CAS number",
        .options = list_options,
        .run = run_list,
    },
    {
        .name = "material remove",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "take a material off the shelf; one in use is set aside",
        .run = run_remove,
    },
    {
        .name = "material aside",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "take a material out of sight, still in the formulas that use it",
        .run = run_aside,
    },
    {
        .name = "material back",
        .operands = "NAME",
        .least = 1,
        .most = 1,
        .forms = PM_CLI_JSON,
        .help = "bring a material back that was set aside",
        .run = run_back,
    },
};

const struct pm_cli_topic pm_cli_topic_material = {
    .title = "Materials",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};

/* SPDX-License-Identifier: MIT */
/* Commands on materials. */
#include "cli.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define LIST_MOST 10000000 /* a list is whole unless --limit says otherwise */

/* ---- answers ---- */

static void put_card(struct pm_json *json, const struct pm_material *card)
{
    pm_entity_json(&pm_material_entity, card, json);
    pm_json_put_bool(json, "set_aside", card->set_aside);
}

/* "VERB NAME" on standard error, and with --json the material as it now is. */
static enum pm_status tell(struct pm_cli *cli, int64_t id, const char *verb, struct pm_error *err)
{
    struct pm_material card;
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_json json;

    const enum pm_status status = pm_shelf_card(cli->studio, id, &card, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "%s %s", verb, card.name);
    if (pm_cli_tell_begin(cli, pm_text_get(&sentence), &json)) {
        put_card(&json, &card);
        pm_json_close(&json, '}');
    }
    pm_text_release(&sentence);
    pm_material_release(&card);
    return PM_OK;
}

static void add_card(struct pm_cli *cli, const struct pm_material *card)
{
    char title[PM_OPTION_TEXT];
    pm_cli_add_shown(&cli->out, card->name);
    pm_text_add(&cli->out, card->set_aside ? ", set aside\n" : "\n");
    for (int i = PM_MATERIAL_NAME + 1; i < PM_MATERIAL_ATTRIBUTES; i++) {
        const struct pm_attribute *attribute = &pm_material_entity.attributes[i];
        struct pm_text text = PM_TEXT_EMPTY;
        pm_attribute_brief(attribute, title, sizeof title);
        for (size_t k = 0; i == PM_MATERIAL_SYNONYMS && k < card->synonym_count; k++)
            pm_cli_add_field(cli, k == 0 ? title : "", card->synonyms[k]);
        pm_attribute_show(attribute, card, pm_decimal_sign(), &text);
        if (i != PM_MATERIAL_SYNONYMS)
            pm_cli_add_made_field(cli, title, &text);
        pm_text_release(&text);
    }
}

/* ---- adding and editing ---- */

static enum pm_status run_add(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_MATERIAL_ATTRIBUTES];
    int64_t id;

    pm_cli_entity_values(cli, values);
    values[PM_MATERIAL_NAME] = cli->operands[0];
    /* Before opening: a refused first material leaves no library behind. */
    enum pm_status status = pm_shelf_check(values, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_shelf_add(cli->studio, values, &id, err);
    return status == PM_OK ? tell(cli, id, "New material", err) : status;
}

static enum pm_status run_edit(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_MATERIAL_ATTRIBUTES];
    int64_t id;

    if (pm_cli_entity_values(cli, values) == 0)
        return pm_cli_usage(cli, err, "What is to be changed?");
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_shelf_edit(cli->studio, id, values, err);
    return status == PM_OK ? tell(cli, id, "Changed", err) : status;
}

/* ---- going and coming back ---- */

/* What was removed can no longer be asked for. */
static void tell_removed(struct pm_cli *cli, const char *name)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_json json;

    pm_text_addf(&sentence, "Removed %s", name);
    if (pm_cli_tell_begin(cli, pm_text_get(&sentence), &json)) {
        pm_json_put_string(&json, "material", name);
        pm_json_put_bool(&json, "set_aside", false);
        pm_json_close(&json, '}');
    }
    pm_text_release(&sentence);
}

static enum pm_status run_remove(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_material card;
    bool set_aside;
    int64_t id;

    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_shelf_card(cli->studio, id, &card, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_remove(cli->studio, id, &set_aside, err);
    if (status == PM_OK && set_aside)
        status = tell(cli, id, "In use, so set aside:", err);
    else if (status == PM_OK)
        tell_removed(cli, card.name);
    pm_material_release(&card);
    return status;
}

static enum pm_status run_aside(struct pm_cli *cli, struct pm_error *err)
{
    const bool aside = *(const bool *)cli->command->with;
    int64_t id;

    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_shelf_set_aside(cli->studio, id, aside, err);
    if (status == PM_OK)
        status = tell(cli, id, aside ? "Set aside" : "Brought back", err);
    return status;
}

/* ---- reading ---- */

/* What is known of it: everything that run_show tells, read before anything is written. */
struct known {
    struct pm_material card;
    struct pm_fact_entries facts;
    struct pm_constituents constituents;
    struct pm_cautions cautions;
};

static void known_release(struct known *known)
{
    pm_material_release(&known->card);
    pm_list_release(&known->facts);
    pm_list_release(&known->constituents);
    pm_cautions_release(&known->cautions);
}

static enum pm_status known_read(struct pm_studio *studio, int64_t id, struct known *known,
                                 struct pm_error *err)
{
    enum pm_status status = pm_shelf_card(studio, id, &known->card, err);
    if (status == PM_OK)
        status = pm_shelf_facts(studio, id, &known->facts, err);
    if (status == PM_OK)
        status = pm_shelf_constituents(studio, id, &known->constituents, err);
    if (status == PM_OK)
        status = pm_shelf_cautions(studio, id, &known->cautions, err);
    return status;
}

static void put_facts(struct pm_json *json, const struct pm_fact_entries *facts)
{
    pm_json_put_open(json, "facts", '[');
    for (size_t i = 0; i < facts->count; i++) {
        const struct pm_fact_entry *fact = &facts->items[i];
        const bool percent = strcmp(fact->unit, "%") == 0;
        pm_json_open(json, '{');
        pm_json_put_string(json, "property", fact->property);
        pm_json_key(json, "value");
        if (fact->is_number)
            pm_json_decimal(json, fact->value, percent ? 7 : 9);
        else
            pm_json_string(json, fact->text);
        pm_json_put_string(json, "unit", fact->unit);
        pm_json_put_string(json, "source", fact->source);
        pm_json_put_string(json, "confidence", fact->confidence);
        pm_json_put_bool(json, "own", fact->own);
        pm_json_put_bool(json, "stands", fact->stands);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_constituents(struct pm_json *json, const struct pm_constituents *list)
{
    pm_json_put_open(json, "constituents", '[');
    for (size_t i = 0; i < list->count; i++) {
        const struct pm_constituent *item = &list->items[i];
        pm_json_open(json, '{');
        pm_entity_json(&pm_constituent_entity, item, json);
        pm_json_put_string(json, "confidence", pm_confidence_word(item->confidence));
        pm_json_put_bool(json, "own", item->origin == PM_OWN);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_cautions(struct pm_json *json, const struct pm_cautions *cautions)
{
    pm_json_put_open(json, "cautions", '[');
    for (size_t i = 0; i < cautions->count; i++) {
        const struct pm_caution *caution = &cautions->items[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "topic", caution->topic);
        pm_json_put_bool(json, "known", caution->known);
        pm_json_put_string(json, "sentence", caution->sentence);
        pm_json_put_string(json, "source", caution->source);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void add_facts(struct pm_text *out, const struct pm_fact_entries *facts)
{
    for (size_t i = 0; i < facts->count; i++) {
        const struct pm_fact_entry *fact = &facts->items[i];
        pm_text_addf(out, "%s%s: ", i == 0 ? "\n" : "", fact->label);
        pm_cli_add_shown(out, fact->text);
        pm_text_addf(out, "%s\n", fact->own ? "  (own)" : fact->stands ? "" : "  (yours stands)");
        if (fact->source != NULL) {
            pm_text_addf(out, "    %s: ", fact->confidence);
            pm_cli_add_shown(out, fact->source);
            pm_text_add_char(out, '\n');
        }
    }
}

static void add_percent(struct pm_text *out, const char *word, int64_t fraction)
{
    char number[PM_AMOUNT_TEXT];
    if (fraction >= 0)
        pm_text_addf(out, " %s %s %%", word,
                     pm_decimal_exact(fraction, 7, pm_decimal_sign(), number));
}

static void add_constituents(struct pm_text *out, const struct pm_constituents *list)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct pm_constituent *item = &list->items[i];
        if (i > 0 && list->items[0].origin != item->origin)
            break; /* one's own list stands instead of the shipped one */
        pm_text_add(out, i == 0 ? "\nholds\n    " : "    ");
        pm_cli_add_shown(out, item->name);
        if (item->least < 0 && item->typical < 0 && item->most < 0)
            pm_text_add(out, ", how much is unknown");
        add_percent(out, "at least", item->least);
        add_percent(out, "typically", item->typical);
        add_percent(out, "at most", item->most);
        pm_text_addf(out, "\n        %s", pm_confidence_word(item->confidence));
        if (item->source != NULL) {
            pm_text_add(out, ": ");
            pm_cli_add_shown(out, item->source);
        }
        pm_text_add_char(out, '\n');
    }
}

static void add_cautions(struct pm_text *out, const struct pm_cautions *cautions)
{
    for (size_t i = 0; i < cautions->count; i++) {
        const struct pm_caution *caution = &cautions->items[i];
        pm_text_addf(out, "%s%s: ", i == 0 ? "\n" : "", caution->topic);
        pm_cli_add_shown(out, caution->sentence);
        pm_text_add_char(out, '\n');
        if (caution->source != NULL) {
            pm_text_add(out, "    ");
            pm_cli_add_shown(out, caution->source);
            pm_text_add_char(out, '\n');
        }
    }
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    struct known known = {.facts = {.count = 0}};
    struct pm_json json;
    int64_t id;

    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = known_read(cli->studio, id, &known, err);
    if (status == PM_OK && cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_card(&json, &known.card);
        put_facts(&json, &known.facts);
        put_constituents(&json, &known.constituents);
        put_cautions(&json, &known.cautions);
        pm_json_close(&json, '}');
    } else if (status == PM_OK) {
        add_card(cli, &known.card);
        add_facts(&cli->out, &known.facts);
        add_constituents(&cli->out, &known.constituents);
        add_cautions(&cli->out, &known.cautions);
    }
    known_release(&known);
    return status;
}

/* ---- what one knows oneself ---- */

static enum pm_status run_set(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_shelf_set_fact(cli->studio, id, cli->operands[1], cli->operands[2],
                                   pm_cli_value(cli, "source"), err);
    if (status == PM_OK)
        status = tell(cli, id, "Changed", err);
    return status;
}

static enum pm_status run_holds(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_CONSTITUENT_ATTRIBUTES];
    int64_t id;
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    pm_cli_entity_values(cli, values);
    values[PM_CONSTITUENT_NAME] = cli->operands[1];
    if (status == PM_OK)
        status = pm_shelf_set_constituent(cli->studio, id, values, err);
    if (status == PM_OK)
        status = tell(cli, id, "Changed", err);
    return status;
}

static enum pm_status run_merge(struct pm_cli *cli, struct pm_error *err)
{
    int64_t from, into;
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &from, err);
    if (status == PM_OK)
        status = pm_shelf_find(cli->studio, cli->operands[1], &into, err);
    if (status == PM_OK)
        status = pm_shelf_merge(cli->studio, from, into, err);
    if (status == PM_OK)
        status = tell(cli, into, "Merged into", err);
    return status;
}

/* ---- the list ---- */

static const struct pm_listing_column columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "kind", .title = "kind", .kind = PM_LISTING_TEXT},
    {.key = "cas", .kind = PM_LISTING_TEXT},
    {.key = "family", .kind = PM_LISTING_TEXT},
    {.key = "matched", .kind = PM_LISTING_TEXT},
    {.title = "CAS", .kind = PM_LISTING_TEXT},
    {.title = "family", .kind = PM_LISTING_TEXT},
    {.title = "found as", .kind = PM_LISTING_TEXT},
};

static void add_entry(struct pm_listing *table, const struct pm_material_entry *entry, bool matched)
{
    pm_listing_text(table, entry->name);
    pm_listing_text(table, entry->kind);
    pm_listing_text(table, entry->cas);
    pm_listing_text(table, entry->family);
    pm_listing_text(table, entry->matched);
    pm_listing_text(table, entry->cas != NULL ? entry->cas : "");
    pm_listing_text(table, entry->family != NULL ? entry->family : "");
    if (matched)
        pm_listing_text(table, entry->matched != NULL ? entry->matched : "");
}

static const struct pm_listing_column filtered_columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "kind", .title = "kind", .kind = PM_LISTING_TEXT},
    {.key = "cas", .title = "CAS", .kind = PM_LISTING_TEXT},
    {.key = "family", .title = "family", .kind = PM_LISTING_TEXT},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "neat_g", .title = "neat g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "low", .title = "low", .kind = PM_LISTING_BOOL},
    {.key = "old", .title = "past date", .kind = PM_LISTING_BOOL},
    {.key = "rating", .title = "rating", .kind = PM_LISTING_NUMBER},
};

static bool is_filtered(const struct pm_cli *cli)
{
    return pm_cli_has(cli, "have") || pm_cli_has(cli, "low") || pm_cli_has(cli, "old") ||
           pm_cli_has(cli, "over") || pm_cli_has(cli, "family");
}

static enum pm_status list_filtered(struct pm_cli *cli, const char *text, size_t limit,
                                    struct pm_error *err)
{
    const struct pm_shelf_filter filter = {.text = text,
                                           .family = pm_cli_value(cli, "family"),
                                           .have = pm_cli_has(cli, "have"),
                                           .low = pm_cli_has(cli, "low"),
                                           .old = pm_cli_has(cli, "old"),
                                           .over = pm_cli_has(cli, "over"),
                                           .set_aside_too = pm_cli_has(cli, "all"),
                                           .limit = limit};
    struct pm_shelf_rows_found rows;
    struct pm_listing table;

    enum pm_status status = pm_shelf_list(cli->studio, &filter, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(filtered_columns));
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_shelf_row *row = &rows.items[i];
        pm_listing_text(&table, row->name);
        pm_listing_text(&table, row->kind);
        pm_listing_text(&table, row->cas);
        pm_listing_text(&table, row->family);
        pm_listing_number(&table, row->poured);
        pm_listing_number(&table, row->neat);
        pm_listing_bool(&table, row->low);
        pm_listing_bool(&table, row->old);
        pm_listing_number_if(&table, row->rating > 0, row->rating);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "materials", "No materials.", err);
}

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    const char *text = cli->operand_count > 0 ? cli->operands[0] : "";
    const char *most = pm_cli_value(cli, "limit");
    struct pm_material_entries found;
    struct pm_listing table;
    int64_t limit = LIST_MOST;
    enum pm_status status = PM_OK;

    if (most != NULL)
        status = pm_decimal_read(most, 0, "The limit", &limit, err);
    if (status == PM_OK && limit > LIST_MOST)
        limit = LIST_MOST;
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK && is_filtered(cli))
        return list_filtered(cli, text, (size_t)limit, err);
    if (status == PM_OK)
        status =
            pm_shelf_search(cli->studio, text, (size_t)limit, pm_cli_has(cli, "all"), &found, err);
    if (status != PM_OK)
        return status;
    /* Without a text nothing was matched: no column for it. */
    const size_t count = sizeof columns / sizeof columns[0] - (text[0] == '\0' ? 1 : 0);
    pm_listing_init(&table, columns, count);
    for (size_t i = 0; i < found.count; i++)
        add_entry(&table, &found.items[i], text[0] != '\0');
    pm_list_release(&found);
    return pm_listing_answer(&table, cli, "materials", "No materials.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option list_options[] = {
    {.name = "family", .value = "TEXT", .help = "only of this odour family"},
    {.name = "have", .help = "only what has something left"},
    {.name = "low", .help = "only what is below its low-stock level"},
    {.name = "old", .help = "only what has a bottle past its date"},
    {.name = "over", .help = "only what a draft holds above its maximum"},
    {.name = "all", .help = "also what was set aside"},
    {.name = "limit", .value = "N", .help = "at most N"},
    {.name = NULL},
};

static const struct pm_cli_option set_options[] = {
    {.name = "source", .value = "TEXT", .help = "where the value is from"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("material add", "NAME", 1, 1, PM_CLI_JSON, "put a new material on the shelf",
                   .entity = &pm_material_entity, .without = "name", .run = run_add,
                   .changes = true),
    PM_CLI_COMMAND("material edit", "NAME", 1, 1, PM_CLI_JSON,
                   "change what is said about a material", .entity = &pm_material_entity,
                   .run = run_edit, .changes = true),
    PM_CLI_COMMAND("material show", "NAME", 1, 1, PM_CLI_JSON,
                   "everything about a material, by name, synonym or CAS number", .run = run_show),
    PM_CLI_COMMAND("material list", "[TEXT]", 0, 1, PM_CLI_TABLE,
                   "list the materials, or find some by name, synonym or CAS number",
                   .options = list_options, .run = run_list),
    PM_CLI_COMMAND("material remove", "NAME", 1, 1, PM_CLI_JSON,
                   "take a material off the shelf; one in use is set aside", .run = run_remove,
                   .changes = true),
    PM_CLI_COMMAND("material aside", "NAME", 1, 1, PM_CLI_JSON,
                   "take a material out of sight, still in the formulas that use it",
                   .run = run_aside, .with = &pm_cli_yes, .changes = true),
    PM_CLI_COMMAND("material back", "NAME", 1, 1, PM_CLI_JSON,
                   "bring a material back that was set aside", .run = run_aside, .with = &pm_cli_no,
                   .changes = true),
    PM_CLI_COMMAND(
        "material set", "NAME PROPERTY VALUE", 3, 3, PM_CLI_JSON,
        "your own value of a property; \"\" takes it away",
        .more = "Properties are those that 'material show --json' names, and rating (1 to 5), low "
                "(the level at which to reorder, in grams neat), maximum (percent of the "
                "concentrate). Your own value stands over a shipped one, which stays.",
        .options = set_options, .run = run_set, .changes = true),
    PM_CLI_COMMAND("material holds", "NAME CONSTITUENT", 2, 2, PM_CLI_JSON,
                   "your own figures for a constituent of a natural; none takes it away",
                   .entity = &pm_constituent_entity, .without = "name", .run = run_holds,
                   .changes = true),
    PM_CLI_COMMAND("material merge", "NAME INTO", 2, 2, PM_CLI_JSON,
                   "one material turned out to be the other: everything follows", .run = run_merge,
                   .changes = true),
};

const struct pm_cli_topic pm_cli_topic_material = {
    .title = "Materials",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};

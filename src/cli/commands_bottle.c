/* SPDX-License-Identifier: MIT */
/* Commands on bottles: entered, listed, counted, poured from, diluted. */
#include "cli.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/core/volume.h"
#include "permille/studio/bottles.h"
#include "permille/studio/shelf.h"
#include "permille/studio/volumes.h"

#include <string.h>

/* ---- naming ---- */

/* The bottle an option names; 0 when it was not given. */
static enum pm_status option_bottle(struct pm_cli *cli, const char *option, int64_t *id,
                                    struct pm_error *err)
{
    const char *text = pm_cli_value(cli, option);
    *id = 0;
    return text != NULL ? pm_cli_find_bottle(cli, text, id, err) : PM_OK;
}

/* ---- answers ---- */

static void put_bottle(struct pm_json *json, const struct pm_bottle *bottle)
{
    pm_json_put_string(json, "bottle", bottle->label);
    pm_json_put_string(json, "material", bottle->name);
    pm_json_put_decimal(json, "left_g", bottle->left, 6);
    pm_json_put_known(json, "left_ml", bottle->left_ul, 3);
    pm_entity_json(&pm_bottle_entity, bottle, json);
    pm_json_put_bool(json, "past_date", bottle->past);
    pm_json_put_bool(json, "set_aside", bottle->set_aside);
}

/* "SENTENCE: B007 Vetiver oil, 12.5 g left" on standard error, and with --json the bottle. */
static enum pm_status tell(struct pm_cli *cli, int64_t id, const char *verb, struct pm_error *err)
{
    struct pm_bottle bottle;
    struct pm_arena arena = {0};
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_json json;
    char mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];

    const enum pm_status status = pm_bottle_show(cli->studio, id, &arena, &bottle, err);
    if (status != PM_OK) {
        pm_arena_release(&arena);
        return status;
    }
    pm_text_addf(&sentence, "%s %s: %s, %s, %s left", verb, bottle.label, bottle.name,
                 pm_strength_about(bottle.strength, pm_decimal_sign(), strength),
                 pm_mass_format(bottle.left, 2, pm_decimal_sign(), mass));
    if (pm_cli_tell_begin(cli, pm_text_get(&sentence), &json)) {
        put_bottle(&json, &bottle);
        pm_json_close(&json, '}');
    }
    pm_text_release(&sentence);
    pm_arena_release(&arena);
    return PM_OK;
}

/* ---- entering and editing ---- */

/* The bottle is not there yet: what is in it is what its options say. */
static enum pm_status received_amount(struct pm_cli *cli, int64_t material, const char *at,
                                      pm_mass *out, struct pm_error *err)
{
    pm_strength strength = PM_NEAT;
    enum pm_status status = at != NULL ? pm_strength_read(at, &strength, err) : PM_OK;
    return status == PM_OK
               ? pm_material_amount(cli->studio, material, strength, cli->operands[1], out, err)
               : status;
}

static enum pm_status run_add(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES];
    pm_mass received = 0;
    int64_t material, id;

    pm_cli_entity_values(cli, values);
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &material, err);
    if (status == PM_OK && cli->operand_count > 1)
        status = received_amount(cli, material, values[PM_BOTTLE_STRENGTH], &received, err);
    if (status == PM_OK)
        status = pm_bottle_add(cli->studio, material, received, values, 0, &id, err);
    return status == PM_OK ? tell(cli, id, "New bottle", err) : status;
}

static enum pm_status edit(struct pm_cli *cli, const char *const *values, const char *verb,
                           struct pm_error *err)
{
    int64_t id;
    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_bottle_edit(cli->studio, id, values, err);
    return status == PM_OK ? tell(cli, id, verb, err) : status;
}

static enum pm_status run_edit(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES];

    if (pm_cli_entity_values(cli, values) == 0)
        return pm_cli_usage(cli, err, "What is to be changed?");
    return edit(cli, values, "Changed", err);
}

static enum pm_status run_move(struct pm_cli *cli, struct pm_error *err)
{
    const char *const values[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_PLACE] = pm_cli_value(cli, "to")};

    if (values[PM_BOTTLE_PLACE] == NULL)
        return pm_cli_usage(cli, err, "Where to? Say --to PLACE.");
    return edit(cli, values, "Moved", err);
}

static enum pm_status run_aside(struct pm_cli *cli, struct pm_error *err)
{
    const bool aside = *(const bool *)cli->command->with;
    int64_t id;
    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_bottle_set_aside(cli->studio, id, aside, err);
    return status == PM_OK ? tell(cli, id, aside ? "Set aside" : "Brought back", err) : status;
}

/* ---- the ledger ---- */

/* A refusal because the bottle does not hold enough says which switch goes on all the same. */
static enum pm_status even_below(struct pm_cli *cli, enum pm_status status, pm_mass missing)
{
    if (status == PM_REFUSED && missing > 0)
        cli->hint = "With --even-below it is written all the same.";
    return status;
}

/* `with` of those that take from a bottle or put into it. */
struct take {
    enum pm_move_kind kind;
    const char *verb;
};
#define TAKE(...)                                                                                  \
    run_take, .with = &(const struct take)                                                         \
    {                                                                                              \
        __VA_ARGS__                                                                                \
    }

static enum pm_status run_take(struct pm_cli *cli, struct pm_error *err)
{
    const struct take *take = cli->command->with;
    const char *values[PM_MOVEMENT_ATTRIBUTES];
    struct pm_arena arena = {0};
    struct pm_movement taken;
    pm_mass missing = 0;
    int64_t id;
    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    pm_cli_entity_values(cli, values);
    values[PM_MOVEMENT_KIND] = pm_move_word(take->kind);
    values[PM_MOVEMENT_MASS] = cli->operands[1];
    if (status == PM_OK)
        status = pm_movement_typed(cli->studio, id, values, &arena, &taken, err);
    if (status == PM_OK)
        status =
            pm_bottle_take(cli->studio, id, &taken, pm_cli_has(cli, "even-below"), &missing, err);
    pm_arena_release(&arena);
    if (status != PM_OK)
        return even_below(cli, status, missing);
    return tell(cli, id, take->verb, err);
}

static enum pm_status run_count(struct pm_cli *cli, struct pm_error *err)
{
    pm_mass found = 0;
    int64_t id;
    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_bottle_amount(cli->studio, id, cli->operands[1], &found, err);
    if (status == PM_OK)
        status = pm_bottle_count(cli->studio, id, found, pm_cli_value(cli, "note"), 0, err);
    return status == PM_OK ? tell(cli, id, "Counted", err) : status;
}

static enum pm_status run_empty(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_bottle_empty(cli->studio, id, pm_cli_value(cli, "note"), err);
    return status == PM_OK ? tell(cli, id, "Empty:", err) : status;
}

/* ---- reading ---- */

static const struct pm_listing_column list_columns[] = {
    {.key = "bottle", .title = "bottle", .kind = PM_LISTING_TEXT},
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_STRENGTH, .title = "%", .least = 2},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_SOLVENT},
    {.title = "in", .kind = PM_LISTING_TEXT},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "left_ml", .title = "ml", .kind = PM_LISTING_NUMBER, .scale = 3, .least = 1},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_LOT, .title = "lot"},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_SUPPLIER, .title = "supplier"},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_PLACE, .title = "place"},
    {.of = &pm_bottle_entity, .which = PM_BOTTLE_BEST_BEFORE, .title = "best before"},
    {.key = "past_date", .title = "past", .kind = PM_LISTING_BOOL},
    {.key = "set_aside", .title = "aside", .kind = PM_LISTING_BOOL},
};

static void add_bottle(struct pm_listing *table, const struct pm_bottle *bottle)
{
    pm_listing_text(table, bottle->label);
    pm_listing_text(table, bottle->name);
    pm_listing_attributes(table, bottle);
    pm_listing_text(table, bottle->solvent_name != NULL ? bottle->solvent_name : "");
    pm_listing_number(table, bottle->left);
    pm_listing_number_if(table, bottle->left_ul >= 0, bottle->left_ul);
    pm_listing_attributes(table, bottle);
    pm_listing_bool(table, bottle->past);
    pm_listing_bool(table, bottle->set_aside);
}

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    const char *material = pm_cli_value(cli, "material");
    struct pm_bottle_filter filter = {.text = cli->operand_count > 0 ? cli->operands[0] : NULL,
                                      .have = pm_cli_has(cli, "have"),
                                      .old = pm_cli_has(cli, "old"),
                                      .set_aside_too = pm_cli_has(cli, "all")};
    struct pm_bottles bottles;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK && material != NULL)
        status = pm_cli_find_material(cli, material, &filter.material, err);
    if (status == PM_OK)
        status = pm_bottles_list(cli->studio, &filter, &bottles, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(list_columns));
    for (size_t i = 0; i < bottles.count; i++)
        add_bottle(&table, &bottles.items[i]);
    pm_list_release(&bottles);
    return pm_listing_answer(&table, cli, "bottles", "No bottles.", err);
}

static const struct pm_listing_column ledger_columns[] = {
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_AT, .title = "at"},
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_KIND, .title = "what"},
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_MASS, .title = "g", .least = 3},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 3},
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_OTHER, .title = "other bottle"},
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_FOR, .title = "for"},
    {.of = &pm_movement_entity, .which = PM_MOVEMENT_NOTE, .title = "note"},
    {.key = "movement", .kind = PM_LISTING_NUMBER},
    {.key = "corrects", .kind = PM_LISTING_NUMBER},
};

static void fill_ledger(struct pm_listing *table, const struct pm_movements *ledger)
{
    pm_listing_init(table, PM_LISTING_COLUMNS(ledger_columns));
    for (size_t i = 0; i < ledger->count; i++) {
        const struct pm_movement *line = &ledger->items[i];
        pm_listing_attributes(table, line);
        pm_listing_number(table, line->left);
        pm_listing_attributes(table, line);
        pm_listing_number(table, line->id);
        pm_listing_number_if(table, line->corrects != 0, line->corrects);
    }
}

/* Strength with its solvent; a price with what it was paid for, or that it is unknown; a day that
 * is over says so. Everything else as its attribute is shown. */
static void add_attribute(struct pm_cli *cli, const struct pm_bottle *bottle, int which)
{
    const struct pm_attribute *attribute = &pm_bottle_entity.attributes[which];
    const char sign = pm_decimal_sign();
    char number[PM_AMOUNT_TEXT], title[PM_OPTION_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;

    pm_attribute_show(attribute, bottle, sign, &text);
    if (which == PM_BOTTLE_STRENGTH && bottle->solvent_name != NULL)
        pm_text_addf(&text, " in %s", bottle->solvent_name);
    if (which == PM_BOTTLE_BEST_BEFORE && bottle->past)
        pm_text_add(&text, ", which is over");
    if (which == PM_BOTTLE_PRICE && text.length == 0)
        pm_text_add(&text, "unknown");
    else if (which == PM_BOTTLE_PRICE)
        pm_text_addf(&text, " for %s g", pm_decimal_exact(bottle->priced_mass, 6, sign, number));
    pm_cli_add_made_field(cli, pm_attribute_brief(attribute, title, sizeof title), &text);
    pm_text_release(&text);
}

static void add_left(struct pm_cli *cli, const struct pm_bottle *bottle)
{
    char mass[PM_AMOUNT_TEXT], volume[PM_AMOUNT_TEXT], text[2 * PM_AMOUNT_TEXT + 4];
    pm_mass_format(bottle->left, 2, pm_decimal_sign(), mass);
    pm_volume_format(bottle->left_ul, pm_decimal_sign(), volume);
    pm_print(text, sizeof text, "%s%s%s", mass, volume[0] != '\0' ? ", " : "", volume);
    pm_cli_add_field(cli, "left", text);
}

static void add_fields(struct pm_cli *cli, const struct pm_bottle *bottle)
{
    pm_text_addf(&cli->out, "%s  ", bottle->label);
    pm_cli_add_shown(&cli->out, bottle->name);
    pm_text_addf(&cli->out, "%s\n", bottle->set_aside ? ", set aside" : "");
    for (int i = 0; i < PM_BOTTLE_ATTRIBUTES; i++) {
        if (i == PM_BOTTLE_LOT)
            add_left(cli, bottle);
        if (i != PM_BOTTLE_SOLVENT && i != PM_BOTTLE_PRICED_MASS)
            add_attribute(cli, bottle, i);
    }
}

static enum pm_status answer_show(struct pm_cli *cli, const struct pm_bottle *bottle,
                                  const struct pm_movements *ledger, struct pm_error *err)
{
    struct pm_listing table;
    struct pm_json json;
    enum pm_status status;

    fill_ledger(&table, ledger);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_bottle(&json, bottle);
        pm_json_key(&json, "movements");
        status = pm_listing_as_json(&table, &json, err);
        pm_json_close(&json, '}');
    } else {
        add_fields(cli, bottle);
        pm_text_add_char(&cli->out, '\n');
        status = pm_listing_show(&table, cli, err);
    }
    pm_listing_release(&table);
    return status;
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_bottle bottle;
    struct pm_arena arena = {0};
    struct pm_movements ledger = {0};
    int64_t id;

    enum pm_status status = pm_cli_find_bottle(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_bottle_show(cli->studio, id, &arena, &bottle, err);
    if (status == PM_OK)
        status = pm_bottle_ledger(cli->studio, id, &ledger, err);
    if (status == PM_OK)
        status = answer_show(cli, &bottle, &ledger, err);
    pm_list_release(&ledger);
    pm_arena_release(&arena);
    return status;
}

/* ---- dilutions ---- */

static enum pm_status read_wish(struct pm_cli *cli, struct pm_dilution_wish *wish,
                                struct pm_error *err)
{
    const char *solvent = pm_cli_value(cli, "in");
    const char *readability = pm_cli_value(cli, "readability");
    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &wish->material, err);
    if (status == PM_OK)
        status = pm_strength_read(cli->operands[1], &wish->strength, err);
    if (status == PM_OK)
        status = pm_mass_read(cli->operands[2], &wish->target, err);
    if (status == PM_OK && solvent != NULL)
        status = pm_cli_find_material(cli, solvent, &wish->solvent, err);
    if (status == PM_OK)
        status = option_bottle(cli, "from", &wish->from, err);
    if (status == PM_OK)
        status = option_bottle(cli, "solvent-from", &wish->solvent_from, err);
    if (status == PM_OK && readability != NULL)
        status = pm_mass_read(readability, &wish->readability, err);
    return status;
}

static void show_dilution(struct pm_cli *cli, const struct pm_dilution *plan)
{
    char label[PM_BOTTLE_LABEL], mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    struct pm_text *out = &cli->out;
    char sign = pm_decimal_sign();

    pm_text_addf(out, "%12s  ", pm_mass_format(plan->of_stock, 2, sign, mass));
    pm_cli_add_shown(out, plan->name);
    pm_text_addf(out, " at %s from %s", pm_strength_about(plan->from_strength, sign, strength),
                 pm_bottle_label(plan->from, label));
    pm_volume_beside(plan->stock_ul, sign, out);
    pm_text_add(out, "\n");
    pm_text_addf(out, "%12s  ", pm_mass_format(plan->of_solvent, 2, sign, mass));
    pm_cli_add_shown(out, plan->solvent_name);
    if (plan->solvent_from != 0)
        pm_text_addf(out, " from %s", pm_bottle_label(plan->solvent_from, label));
    pm_volume_beside(plan->solvent_ul, sign, out);
    pm_text_addf(out, "\ngives %s at %s\n",
                 pm_mass_format(plan->of_stock + plan->of_solvent, 2, sign, mass),
                 pm_strength_about(plan->expected, sign, strength));
    if (plan->stock_ul >= 0 || plan->solvent_ul >= 0)
        pm_text_add(out, PM_VOLUMES_ORIENT "\n");
    if (plan->remark != NULL)
        pm_text_addf(out, "%s\n", plan->remark);
}

static void put_dilution(struct pm_json *json, const struct pm_dilution *plan)
{
    char label[PM_BOTTLE_LABEL];

    pm_json_put_string(json, "material", plan->name);
    pm_json_put_string(json, "solvent", plan->solvent_name);
    pm_json_put_string(json, "from", pm_bottle_label(plan->from, label));
    pm_json_put_string(json, "solvent_from",
                       plan->solvent_from != 0 ? pm_bottle_label(plan->solvent_from, label) : NULL);
    pm_json_put_decimal(json, "stock_percent", plan->from_strength, 7);
    pm_json_put_decimal(json, "stock_g", plan->of_stock, 6);
    pm_json_put_decimal(json, "solvent_g", plan->of_solvent, 6);
    pm_json_put_decimal(json, "expected_percent", plan->expected, 7);
    pm_json_put_bool(json, "off", plan->off);
    pm_json_put_decimal(json, "least_g", plan->least, 6);
    pm_json_put_known(json, "stock_ml", plan->stock_ul, 3);
    pm_json_put_known(json, "solvent_ml", plan->solvent_ul, 3);
    pm_json_put_string(json, "remark", plan->remark);
}

static enum pm_status only_show(struct pm_cli *cli, const struct pm_dilution *plan)
{
    struct pm_json json;

    if (cli->form != PM_CLI_JSON) {
        show_dilution(cli, plan);
        return PM_OK;
    }
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    put_dilution(&json, plan);
    pm_json_close(&json, '}');
    return PM_OK;
}

static enum pm_status make(struct pm_cli *cli, const struct pm_dilution *plan, struct pm_error *err)
{
    const char *stock_text = pm_cli_value(cli, "stock-weighed");
    const char *solvent_text = pm_cli_value(cli, "solvent-weighed");
    pm_mass stock = 0, solvent = 0, missing = 0;
    char planned[2][PM_AMOUNT_TEXT];
    const char *values[PM_BOTTLE_ATTRIBUTES];
    int64_t id;

    pm_cli_entity_values(cli, values);
    enum pm_status status = pm_dilution_weighed(
        cli->studio, plan,
        stock_text != NULL ? stock_text : pm_mass_exact(plan->of_stock, '.', planned[0]),
        solvent_text != NULL ? solvent_text : pm_mass_exact(plan->of_solvent, '.', planned[1]),
        &stock, &solvent, err);
    if (status == PM_OK)
        status = pm_dilution_make(cli->studio, plan, stock, solvent, values,
                                  pm_cli_has(cli, "even-below"), 0, &id, &missing, err);
    if (status != PM_OK)
        return even_below(cli, status, missing);
    if (plan->remark != NULL)
        pm_cli_say(cli, "%s", plan->remark);
    return tell(cli, id, "Made", err);
}

static enum pm_status run_dilute(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_dilution_wish wish = {.material = 0};
    struct pm_dilution plan;

    enum pm_status status = read_wish(cli, &wish, err);
    if (status == PM_OK)
        status = pm_dilution_plan(cli->studio, &wish, &plan, err);
    if (status != PM_OK)
        return status;
    plan.even_off = pm_cli_has(cli, "even-off");
    status = pm_cli_has(cli, "try") ? only_show(cli, &plan) : make(cli, &plan, err);
    pm_dilution_release(&plan);
    return status;
}

/* ---- the table ---- */

#define OPTION_BELOW                                                                               \
    {                                                                                              \
        .name = "even-below", .help = "also when the ledger falls below zero"                      \
    }
static const struct pm_cli_option move_options[] = {
    {.name = "to", .value = "PLACE", .help = "where it stands now"},
    {.name = NULL},
};

static const struct pm_cli_option take_options[] = {
    OPTION_BELOW,
    {.name = NULL},
};

static const struct pm_cli_option list_options[] = {
    {.name = "material", .value = "NAME", .help = "only bottles of this material"},
    {.name = "have", .help = "only those with something left"},
    {.name = "old", .help = "only those past their date with something left"},
    {.name = "all", .help = "also what was set aside"},
    {.name = NULL},
};

static const struct pm_cli_option dilute_options[] = {
    {.name = "in", .value = "SOLVENT", .help = "without it the solvent of the stock bottle"},
    {.name = "from", .value = "BOTTLE", .help = "the stock; without it the one that dilutes best"},
    {.name = "solvent-from", .value = "BOTTLE", .help = "the bottle of solvent"},
    {.name = "readability", .value = "MASS", .help = "of the balance; 0.01g without it"},
    {.name = "stock-weighed", .value = "MASS", .help = "what was really weighed of the stock"},
    {.name = "solvent-weighed", .value = "MASS", .help = "what was really weighed of the solvent"},
    {.name = "try", .help = "write nothing, show what to weigh"},
    {.name = "even-off", .help = "also when it comes out at another strength than asked for"},
    OPTION_BELOW,
    {.name = NULL},
};

/* Of a movement: operands, or worked out. */
#define NOT_ASKED "at|kind|mass|other|found|corrects"

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("bottle add", "MATERIAL [MASS]", 1, 2, PM_CLI_JSON,
                   "a new bottle with that much in it", .entity = &pm_bottle_entity, .run = run_add,
                   .changes = true),
    PM_CLI_COMMAND("bottle edit", "BOTTLE", 1, 1, PM_CLI_JSON, "change what is said about a bottle",
                   .run = run_edit, .entity = &pm_bottle_entity, .changes = true),
    PM_CLI_COMMAND("bottle show", "BOTTLE", 1, 1, PM_CLI_JSON,
                   "everything about a bottle, with its ledger", .run = run_show),
    PM_CLI_COMMAND("bottle list", "[TEXT]", 0, 1, PM_CLI_TABLE,
                   "list the bottles, or find some by material, lot, supplier, place or number",
                   .options = list_options, .run = run_list),
    PM_CLI_COMMAND("bottle count", "BOTTLE MASS", 2, 2, PM_CLI_JSON,
                   "stock-take: what is really in it", .entity = &pm_movement_entity,
                   .without = NOT_ASKED "|batch", .run = run_count, .changes = true),
    PM_CLI_COMMAND("bottle pour", "BOTTLE MASS", 2, 2, PM_CLI_JSON, "take some out of it",
                   .options = take_options, .entity = &pm_movement_entity, .without = NOT_ASKED,
                   .run = TAKE(PM_POURED, "Poured from"), .changes = true),
    PM_CLI_COMMAND("bottle fill", "BOTTLE MASS", 2, 2, PM_CLI_JSON, "put some more into it",
                   .options = take_options, .entity = &pm_movement_entity, .without = NOT_ASKED,
                   .run = TAKE(PM_RECEIVED, "Filled"), .changes = true),
    PM_CLI_COMMAND("bottle spill", "BOTTLE MASS", 2, 2, PM_CLI_JSON, "some of it was spilled",
                   .options = take_options, .entity = &pm_movement_entity, .without = NOT_ASKED,
                   .run = TAKE(PM_SPILLED, "Spilled from"), .changes = true),
    PM_CLI_COMMAND("bottle discard", "BOTTLE MASS", 2, 2, PM_CLI_JSON, "some of it was thrown away",
                   .options = take_options, .entity = &pm_movement_entity, .without = NOT_ASKED,
                   .run = TAKE(PM_DISCARDED, "Discarded from"), .changes = true),
    PM_CLI_COMMAND("bottle move", "BOTTLE", 1, 1, PM_CLI_JSON, "put it in another place",
                   .options = move_options, .run = run_move, .changes = true),
    PM_CLI_COMMAND("bottle empty", "BOTTLE", 1, 1, PM_CLI_JSON, "nothing is left in it; set aside",
                   .entity = &pm_movement_entity, .without = NOT_ASKED "|batch", .run = run_empty,
                   .changes = true),
    PM_CLI_COMMAND("bottle aside", "BOTTLE", 1, 1, PM_CLI_JSON, "take a bottle out of sight",
                   .run = run_aside, .with = &pm_cli_yes, .changes = true),
    PM_CLI_COMMAND("bottle back", "BOTTLE", 1, 1, PM_CLI_JSON,
                   "bring a bottle back that was set aside", .run = run_aside, .with = &pm_cli_no,
                   .changes = true),
    PM_CLI_COMMAND(
        "dilute", "MATERIAL STRENGTH MASS", 3, 3, PM_CLI_JSON,
        "make a dilution from a bottle: a new bottle with its true strength",
        .more = "What to weigh is rounded to what the balance reads. Without --stock-weighed and "
                "--solvent-weighed it is taken as weighed.",
        .options = dilute_options, .entity = &pm_bottle_entity,
        .without = "strength|solvent|made_from", .run = run_dilute, .changes = true),
};

const struct pm_cli_topic pm_cli_topic_bottle = {
    .title = "Bottles",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};

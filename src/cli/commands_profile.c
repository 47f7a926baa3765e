/* SPDX-License-Identifier: MIT */
/* What a formula is made of, by family and volatility, and the person's ceilings on that. */
#include "bench.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/mem.h"
#include "permille/studio/profile.h"

#define COLUMNS(array) array, sizeof array / sizeof array[0]
#define PERCENT_SCALE  10 /* of shares in 1e-12 */

static const struct pm_listing_column profile_columns[] = {
    {.key = "by", .title = "by", .kind = PM_LISTING_TEXT},
    {.key = "name", .title = "name", .kind = PM_LISTING_TEXT},
    {.key = "share_percent",
     .title = "share %",
     .kind = PM_LISTING_NUMBER,
     .scale = PERCENT_SCALE,
     .least = 2},
    {.key = "ceiling_percent",
     .title = "at most %",
     .kind = PM_LISTING_NUMBER,
     .scale = PERCENT_SCALE},
    {.key = "set_for", .title = "set for", .kind = PM_LISTING_TEXT},
    {.key = "verdict", .title = "verdict", .kind = PM_LISTING_TEXT},
};

static void add_group(struct pm_listing *table, const struct pm_profile_group *group)
{
    const bool family = group->kind == PM_BY_FAMILY;
    pm_listing_text(table, pm_profile_kind_word(group->kind));
    pm_listing_text(table, group->name != NULL ? group->name : family ? "no family" : "no figure");
    pm_listing_number(table, group->share);
    if (group->ceiling == NULL) {
        pm_listing_null(table);
        pm_listing_null(table);
    } else {
        pm_listing_number(table, group->ceiling->most);
        pm_listing_text(table, group->ceiling->formula == 0 ? "every formula" : "this one");
    }
    pm_listing_text(table, group->ceiling != NULL ? pm_ceiling_word(group->verdict) : NULL);
}

static enum pm_status run_profile(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_profile_known known = {.read = false};
    struct pm_profile profile;
    struct pm_sheet *sheet;
    struct pm_listing table;
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_profile_of(cli->studio, sheet, &known, &profile, err);
    pm_sheet_free(sheet);
    if (status == PM_OK) {
        pm_listing_init(&table, COLUMNS(profile_columns));
        for (size_t i = 0; i < profile.count; i++)
            add_group(&table, &profile.groups[i]);
        status =
            pm_listing_answer(&table, cli, "profile", "There is nothing in it but solvent.", err);
        pm_profile_release(&profile);
    }
    pm_profile_forget(&known);
    return status;
}

/* ---- ceilings ---- */

/* The formula of --formula, 0 without it. */
static enum pm_status read_formula(struct pm_cli *cli, int64_t *out, struct pm_error *err)
{
    const char *text = pm_cli_value(cli, "formula");
    enum pm_status status = pm_cli_open(cli, false, err);
    *out = 0;
    if (status == PM_OK && text != NULL)
        status = pm_formula_find(cli->studio, text, out, NULL, NULL, err);
    return status;
}

static enum pm_status tell(struct pm_cli *cli, char *sentence)
{
    struct pm_json json;
    if (pm_cli_tell_begin(cli, sentence, &json))
        pm_json_close(&json, '}');
    pm_free(sentence);
    return PM_OK;
}

static enum pm_status run_set(struct pm_cli *cli, struct pm_error *err)
{
    int64_t formula;
    char *sentence = NULL;
    enum pm_status status = read_formula(cli, &formula, err);
    if (status == PM_OK)
        status = pm_ceiling_set(cli->studio, formula, cli->operands[0], cli->operands[1], &sentence,
                                err);
    return status == PM_OK ? tell(cli, sentence) : status;
}

static enum pm_status run_remove(struct pm_cli *cli, struct pm_error *err)
{
    int64_t formula;
    char *sentence = NULL;
    enum pm_status status = read_formula(cli, &formula, err);
    if (status == PM_OK)
        status = pm_ceiling_remove(cli->studio, formula, cli->operands[0], &sentence, err);
    return status == PM_OK ? tell(cli, sentence) : status;
}

static const struct pm_listing_column ceiling_columns[] = {
    {.key = "formula", .title = "formula", .kind = PM_LISTING_TEXT},
    {.key = "by", .title = "by", .kind = PM_LISTING_TEXT},
    {.key = "name", .title = "name", .kind = PM_LISTING_TEXT},
    {.key = "ceiling_percent",
     .title = "at most %",
     .kind = PM_LISTING_NUMBER,
     .scale = PERCENT_SCALE},
};

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_ceiling_entries entries;
    struct pm_listing table;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_ceilings_read(cli->studio, &entries, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, COLUMNS(ceiling_columns));
    for (size_t i = 0; i < entries.count; i++) {
        const struct pm_ceiling_entry *entry = &entries.items[i];
        pm_listing_text(&table, entry->formula);
        pm_listing_text(&table, pm_profile_kind_word(entry->row.kind));
        pm_listing_text(&table, entry->row.name);
        pm_listing_number(&table, entry->row.most);
    }
    pm_list_release(&entries);
    return pm_listing_answer(&table, cli, "ceilings", "There is no ceiling.", err);
}

/* ---- table ---- */

static const struct pm_cli_option formula_option[] = {
    {.name = "formula", .value = "F", .help = "for this formula alone, not for every one"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("profile", "F[/N]", 1, 1, PM_CLI_TABLE,
                   "what it is made of, by odour family and by volatility", .run = run_profile,
                   .more =
                       "Shares are of all that is no solvent, neat, accords resolved. What has no "
                       "family or no vapour pressure is listed, and counts as unknown against a "
                       "ceiling."),
    PM_CLI_COMMAND("ceiling set", "NAME PERCENT", 2, 2, PM_CLI_JSON,
                   "at most so much of a family, or of top, heart or base",
                   .options = formula_option, .run = run_set, .changes = true),
    PM_CLI_COMMAND("ceiling remove", "NAME", 1, 1, PM_CLI_JSON, "take a ceiling away",
                   .options = formula_option, .run = run_remove, .changes = true),
    PM_CLI_COMMAND("ceiling list", "", 0, 0, PM_CLI_TABLE, "your ceilings", .run = run_list),
};

const struct pm_cli_topic pm_cli_topic_profile = {
    .title = "What a formula is made of",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};

/* SPDX-License-Identifier: MIT */
/* What the commands of the scale share (scale.h). */
#include "scale.h"
#include "listing.h"

#include "permille/base/amount.h"

#include <math.h>

struct pm_weigh_how pm_cli_weigh_how(const struct pm_cli *cli)
{
    return (struct pm_weigh_how){
        .balance = pm_cli_value(cli, "balance"),
        .readability = pm_cli_value(cli, "readability"),
        .least = pm_cli_value(cli, "least"),
        .tolerance = pm_cli_value(cli, "tolerance"),
        .order = pm_cli_value(cli, "order"),
        .as_it_is = pm_cli_has(cli, "as-it-is"),
        .cumulative = pm_cli_has(cli, "cumulative"),
    };
}

int64_t pm_cli_percent(double share)
{
    return llround(fmin(fabs(share), 9e6) * 1e9) * (share < 0 ? -1 : 1);
}

int64_t pm_cli_share(double share)
{
    return llround(share * 1e14);
}

pm_mass pm_cli_grams_unit(int places)
{
    pm_mass unit = 1;
    for (int i = places; i < 6; i++)
        unit *= 10;
    return unit;
}

void pm_cli_put_whence(struct pm_json *json, const struct pm_weigh_whence *whence)
{
    pm_json_put_string(json, "made_up_of", whence->made_up);
    pm_json_put_open(json, "accords", '[');
    for (size_t i = 0; i < whence->accord_count; i++)
        pm_json_string(json, whence->accords[i]);
    pm_json_close(json, ']');
}

static void add_text(struct pm_listing *table, struct pm_text *text)
{
    if (text->length > 0 || !pm_text_ok(text))
        pm_listing_made(table, text);
    else
        pm_listing_null(table);
    pm_text_release(text);
}

void pm_cli_add_whence(struct pm_listing *table, const struct pm_weigh_whence *whence)
{
    struct pm_text accords = PM_TEXT_EMPTY, said = PM_TEXT_EMPTY;
    pm_listing_text(table, whence->made_up);
    for (size_t i = 0; i < whence->accord_count; i++)
        pm_text_addf(&accords, "%s%s", i > 0 ? "; " : "", whence->accords[i]);
    add_text(table, &accords);
    pm_weigh_whence_say(whence, &said);
    add_text(table, &said);
}

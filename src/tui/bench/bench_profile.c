/* SPDX-License-Identifier: MIT */
/*
 * The Bench: what the formula is made of, by odour family and by volatility, against the person's
 * ceilings: a quiet sign when one is broken, words beside the sheet, and a list where ceilings are
 * set.
 */
#include "bench.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define SHOWN      4 /* families named beside the sheet */
#define NAME_BYTES 512

void bench_profile_forget(struct bench *bench)
{
    bench->profile.read = false;
}

void bench_profile_release(struct bench *bench)
{
    pm_profile_release(&bench->profile.now);
    pm_profile_forget(&bench->profile.known);
    bench->profile.read = false;
}

/* What cannot be read just now shows nothing. */
void bench_profile_read(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    struct pm_profile_known *known = &bench->profile.known;
    struct pm_sheet shown;
    enum pm_status (*work)(struct pm_studio *, const struct pm_sheet *, struct pm_profile_known *,
                           struct pm_profile *, struct pm_error *) =
        known->read ? pm_profile_preview : pm_profile_of;
    if (bench->profile.read || sheet == NULL)
        return;
    struct pm_line *lines = pm_alloc_array(sheet->trial.count + 1, sizeof *lines);
    pm_profile_release(&bench->profile.now);
    bench->profile.read = true;
    if (lines != NULL) {
        bench_shown(bench, lines, &shown);
        (void)work(bench->house->studio, &shown, known, &bench->profile.now, NULL);
    }
    pm_free(lines);
}

enum pm_role bench_profile_sign(const struct bench *bench, struct pm_text *out)
{
    const struct pm_profile *profile = &bench->profile.now;
    pm_profile_say(profile, bench->house->sign, out);
    return profile->over > 0 ? PM_ROLE_ERROR : PM_ROLE_WARNING;
}

static const char *name_of(const struct pm_profile_group *group)
{
    return group->name != NULL           ? group->name
           : group->kind == PM_BY_FAMILY ? "no family"
                                         : "no figure";
}

static bool of_kind(const struct pm_profile_group *group, enum pm_profile_kind kind)
{
    return group->kind == kind && group->share > 0;
}

void bench_profile_words(const struct bench *bench, enum pm_profile_kind kind, struct pm_text *out)
{
    const struct pm_profile *profile = &bench->profile.now;
    size_t shown = 0, left = 0;
    bool known = false;
    for (size_t i = 0; i < profile->count; i++)
        known = known || (of_kind(&profile->groups[i], kind) && profile->groups[i].name != NULL);
    for (size_t i = 0; known && i < profile->count; i++) {
        const struct pm_profile_group *group = &profile->groups[i];
        char share[PM_AMOUNT_TEXT];
        if (!of_kind(group, kind))
            continue;
        if (shown == SHOWN) {
            left++;
            continue;
        }
        pm_text_addf(out, "%s%s %s", shown > 0 ? ", " : "", name_of(group),
                     pm_share_format(group->share, bench->house->sign, share));
        shown++;
    }
    if (left > 0)
        pm_text_addf(out, ", %zu more", left);
}

/* ---- the list ---- */

struct made_of {
    struct bench *bench;
    struct pm_profile profile;
    struct pm_profile_known known;
    int64_t formula;
};

struct limiting {
    struct pm_app *app;
    int64_t formula;
    char name[NAME_BYTES];
};

static const char *const whose[] = {"this formula", "every formula", NULL};

static enum pm_status limiting_accept(void *context, const char *const values[],
                                      struct pm_error *err)
{
    const struct limiting *limiting = context;
    struct bench *bench = pm_app_room_state(limiting->app, PM_ROOM_BENCH);
    struct pm_studio *studio = bench->house->studio;
    const int64_t formula = strcmp(values[1], whose[0]) == 0 ? limiting->formula : 0;
    char *sentence = NULL;
    const enum pm_status status =
        *values[0] != '\0'
            ? pm_ceiling_set(studio, formula, limiting->name, values[0], &sentence, err)
            : pm_ceiling_remove(studio, formula, limiting->name, &sentence, err);
    if (status == PM_OK) {
        bench_profile_release(bench);
        pm_app_say(limiting->app, "%s.", sentence);
    }
    pm_free(sentence);
    return status;
}

static void limit_group(struct made_of *made, const struct pm_profile_group *group)
{
    const struct pm_ceiling *ceiling = group->ceiling;
    struct limiting limiting = {.app = made->bench->app, .formula = made->formula};
    struct pm_text title = PM_TEXT_EMPTY;
    char most[PM_AMOUNT_TEXT] = "";
    snprintf(limiting.name, sizeof limiting.name, "%s", group->name);
    pm_text_addf(&title, "Ceiling on %s", group->name);
    if (ceiling != NULL)
        pm_strength_format(ceiling->most / (PM_WHOLE / PM_NEAT), made->bench->house->sign, most);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "most",
                    .label = "At most",
                    .text = most,
                    .replace = true,
                    .hint = "10%; empty takes the ceiling away"},
                   {.key = "for",
                    .label = "For",
                    .text = whose[ceiling != NULL && ceiling->formula == 0],
                    .choices = whose,
                    .hint = "a formula's own counts before the one for every formula"}},
        .field_count = 2,
        .accept = limiting_accept,
        .writes = true,
        .context = &limiting,
        .context_size = sizeof limiting,
    };
    pm_form_open(made->bench->app, &spec);
    pm_text_release(&title);
}

static enum pm_status made_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    struct made_of *made = context;
    const struct pm_profile_group *group = &made->profile.groups[index];
    (void)text;
    if (group->name == NULL)
        return pm_fail(err, PM_REFUSED, "What has no %s has no ceiling; Shelf gives it one.",
                       group->kind == PM_BY_FAMILY ? "family" : "vapour pressure");
    limit_group(made, group);
    return PM_OK;
}

static void made_words(void *context, size_t index, struct pm_text *out)
{
    const struct made_of *made = context;
    pm_text_add(out, name_of(&made->profile.groups[index]));
}

static void made_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct made_of *made = context;
    const struct pm_profile_group *group = &made->profile.groups[index];
    const char sign = made->bench->house->sign;
    char text[PM_AMOUNT_TEXT];
    pm_text_add(&row->cells[0], pm_profile_kind_word(group->kind));
    pm_text_add(&row->cells[1], name_of(group));
    pm_text_add(&row->cells[2], pm_share_format(group->share, sign, text));
    if (group->ceiling != NULL) {
        pm_text_addf(&row->cells[3], "%s%s", pm_share_format(group->ceiling->most, sign, text),
                     group->ceiling->formula == 0 ? " everywhere" : "");
        pm_text_add(&row->cells[4], pm_ceiling_word(group->verdict));
    }
    row->role = group->verdict == PM_CEILING_OVER      ? PM_ROLE_ERROR
                : group->verdict == PM_CEILING_UNKNOWN ? PM_ROLE_WARNING
                                                       : PM_ROLE_NORMAL;
}

static void made_closed(void *context)
{
    struct made_of *made = context;
    pm_profile_release(&made->profile);
    pm_profile_forget(&made->known);
}

void bench_made_of(void *state)
{
    struct bench *bench = state;
    struct pm_error err;
    const struct pm_sheet *sheet = bench_sheet(bench);
    if (sheet == NULL) {
        pm_app_say(bench->app, "No formula is open.");
        return;
    }
    struct made_of made = {.bench = bench, .formula = sheet->formula};
    if (pm_profile_of(bench->house->studio, sheet, &made.known, &made.profile, &err) != PM_OK) {
        pm_app_warn(bench->app, "%s", err.text);
        made_closed(&made);
        return;
    }
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_addf(&title, "What %s is made of, solvents left out", sheet->name);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "Only",
        .columns = {{.heading = "by", .wish = 10},
                    {.heading = "", .wish = 16, .grows = true},
                    {.heading = "share", .wish = 9, .align = PM_ALIGN_RIGHT},
                    {.heading = "at most", .wish = 18},
                    {.heading = "verdict", .wish = 8}},
        .column_count = 5,
        .count = made.profile.count,
        .words = made_words,
        .row = made_row,
        .accept = made_accept,
        .none_hint = "Nothing in it is called so.",
        .none_yet = "Nothing but solvent is in it.",
        .closed = made_closed,
        .context = &made,
        .context_size = sizeof made,
    };
    pm_picker_open(bench->app, &spec);
    pm_text_release(&title);
}

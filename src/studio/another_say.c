/* SPDX-License-Identifier: MIT */
/* Another library's items in words (see another.h). */
#include "permille/studio/another.h"

#include "inside.h"

#include "permille/base/clock.h"
#include "permille/core/bottle.h"
#include "permille/core/fact.h"
#include "permille/store/other.h"

#include <stdlib.h>
#include <string.h>

static void add_time(int64_t at, struct pm_text *out)
{
    char buf[PM_TIME_TEXT];
    pm_text_add(out, pm_time_format(at, buf));
}

void pm_another_say_item(const struct pm_another *another, size_t at, char sign,
                         struct pm_text *out)
{
    const struct pm_other_item *item = &another->items.items[at];
    char label[PM_BOTTLE_LABEL], mass[PM_AMOUNT_TEXT];
    switch (item->kind) {
    case PM_OTHER_BOTTLE:
        pm_text_addf(out, "%s %s", pm_bottle_label(item->id, label), item->name);
        break;
    case PM_OTHER_BATCH:
    case PM_OTHER_FILLING:
        pm_text_addf(out, "%s of %s", pm_mass_format(item->mass, 2, sign, mass), item->name);
        if (item->number != 0)
            pm_text_addf(out, "/%lld", (long long)item->number);
        break;
    case PM_OTHER_SESSION:
    case PM_OTHER_SMELL:
        pm_text_addf(out, "%s/%lld, ", item->name, (long long)item->number);
        add_time(item->at, out);
        break;
    default:
        pm_text_add(out, item->name);
    }
    if (item->detail != NULL && item->kind != PM_OTHER_MATERIAL)
        pm_text_addf(out, ", %s", item->detail);
}

/* ---- how it stands ---- */

/* What a row that is added in time is called. */
static const char *rows_word(enum pm_other_kind kind)
{
    switch (kind) {
    case PM_OTHER_FORMULA:
        return "gesture";
    case PM_OTHER_BOTTLE:
        return "movement";
    case PM_OTHER_PANEL:
        return "answer";
    case PM_OTHER_SERIES:
        return "rating";
    case PM_OTHER_SMELL:
        return "correction";
    default:
        return "entry";
    }
}

static void add_count(const char *word, int64_t count, struct pm_text *out)
{
    const size_t length = strlen(word);
    if (count != 1 && word[length - 1] == 'y')
        pm_text_addf(out, "%lld %.*sies", (long long)count, (int)length - 1, word);
    else
        pm_text_addf(out, "%lld %s%s", (long long)count, word, count == 1 ? "" : "s");
}

static void say_more(const struct pm_other_item *item, struct pm_text *out)
{
    pm_text_add(out, "theirs has ");
    if (item->kind == PM_OTHER_FORMULA && item->trials_more > 0) {
        add_count("kept trial", item->trials_more, out);
        pm_text_add(out, " and ");
    }
    add_count(rows_word(item->kind), item->theirs_more, out);
    pm_text_add(out, " more");
}

/* Trials behind one's own. */
static void say_added(const struct pm_other_item *item, struct pm_text *out)
{
    pm_text_add(out, "; their trials become the next ones here, your draft stays");
    if (item->gestures_left > 0) {
        pm_text_add(out, ", theirs (");
        add_count("gesture", item->gestures_left, out);
        pm_text_add(out, ") does not come along");
    }
}

static void say_forked(const struct pm_other_item *item, enum pm_other_how comes,
                       struct pm_text *out)
{
    say_more(item, out);
    if (item->mine_more > 0) {
        pm_text_add(out, ", yours ");
        add_count(rows_word(item->kind), item->mine_more, out);
    }
    if (item->kind == PM_OTHER_FORMULA && comes == PM_OTHER_TAKE)
        say_added(item, out);
}

static void say_standing(const struct pm_another *another, size_t at, struct pm_text *out)
{
    const struct pm_other_item *item = &another->items.items[at];
    switch (item->state) {
    case PM_OTHER_NEW:
        pm_text_add(out, item->number_taken && another->numbers[at] == 0
                             ? "new; its number is taken here, so it gets another"
                             : "new");
        return;
    case PM_OTHER_SAME:
        pm_text_add(out, "the same is here");
        return;
    case PM_OTHER_ASIDE:
        pm_text_add(out, "the same is here, put away");
        return;
    case PM_OTHER_MORE:
        say_more(item, out);
        if (item->apart)
            say_added(item, out);
        else
            pm_text_add(out, ", going on from where yours ends");
        return;
    case PM_OTHER_LESS:
        pm_text_add(out, "yours has ");
        add_count(rows_word(item->kind), item->mine_more, out);
        pm_text_add(out, " more; nothing to take");
        return;
    case PM_OTHER_FORKED:
        say_forked(item, another->wishes[at].comes, out);
        return;
    case PM_OTHER_DIFFERS:
        pm_text_add(out, "yours says something else");
        return;
    case PM_OTHER_TAKEN:
        pm_text_addf(out, "another %s here has this name", pm_other_kind_word(item->kind, false));
        return;
    }
}

void pm_another_say_state(const struct pm_another *another, size_t at, struct pm_text *out)
{
    const struct pm_other_wish *wish = &another->wishes[at];
    say_standing(another, at, out);
    if (wish->needed_by == SIZE_MAX)
        return;
    const struct pm_other_item *by = &another->items.items[wish->needed_by];
    pm_text_addf(out, "; comes along for the %s %s", pm_other_kind_word(by->kind, false), by->name);
}

void pm_another_say_how(const struct pm_another *another, size_t at, struct pm_text *out)
{
    const struct pm_other_wish *wish = &another->wishes[at];
    char label[PM_BOTTLE_LABEL];
    if (wish->comes == PM_OTHER_LEAVE)
        pm_text_add(out, "-");
    else if (another->names[at] != NULL)
        pm_text_addf(out, "as %s", another->names[at]);
    else if (another->numbers[at] != 0)
        pm_text_addf(out, "as %s", pm_bottle_label(another->numbers[at], label));
    else if (wish->needed_by != SIZE_MAX)
        pm_text_add(out, "comes along");
    else if (wish->comes == PM_OTHER_SECOND)
        pm_text_add(out, "as a second one");
    else
        pm_text_add(out,
                    another->items.items[at].state == PM_OTHER_ASIDE ? "back in sight" : "take");
}

void pm_another_say_counts(const size_t counts[PM_OTHER_KINDS], struct pm_text *out)
{
    bool any = false;
    for (int kind = 0; kind < PM_OTHER_KINDS; kind++) {
        if (counts[kind] == 0)
            continue;
        pm_text_addf(out, "%s%zu %s", any ? ", " : "", counts[kind],
                     pm_other_kind_word((enum pm_other_kind)kind, counts[kind] != 1));
        any = true;
    }
    if (!any)
        pm_text_add(out, "nothing");
}

/* ---- differences ---- */

static const char *show_fact(const char *word, int64_t value, char sign, struct pm_text *text)
{
    const struct pm_fact_property *property = pm_fact_find(word);
    char buf[PM_AMOUNT_TEXT];
    if (property != NULL)
        pm_fact_format(property, value, sign, text);
    else
        pm_text_add(text, pm_decimal_exact(value, PM_FACT_SCALE, sign, buf));
    return pm_text_get(text);
}

static const char *show(const struct pm_other_field *field, const char *value, char sign,
                        struct pm_text *text)
{
    char buf[PM_AMOUNT_TEXT], day[PM_TIME_TEXT];
    if (value == NULL || field->form == PM_OTHER_TEXT)
        return value;
    const int64_t number = strtoll(value, NULL, 10);
    pm_text_clear(text);
    if (field->fact != NULL)
        return show_fact(field->fact, number, sign, text);
    switch (field->form) {
    case PM_OTHER_FRACTION:
        pm_text_add(text, pm_strength_format(number, sign, buf));
        break;
    case PM_OTHER_SHARE:
        pm_text_addf(text, "%s %%", pm_decimal_exact(number, 10, sign, buf));
        break;
    case PM_OTHER_MASS:
        pm_text_add(text, pm_mass_format(number, 2, sign, buf));
        break;
    case PM_OTHER_MONEY:
        pm_text_add(text, pm_decimal_exact(number, 6, sign, buf));
        break;
    case PM_OTHER_DAY:
        pm_text_add(text, pm_day_format(number, day));
        break;
    case PM_OTHER_TIME:
        add_time(number, text);
        break;
    case PM_OTHER_YES_NO:
        pm_text_add(text, number != 0 ? "yes" : "no");
        break;
    default:
        return value;
    }
    return pm_text_get(text);
}

enum pm_status pm_another_differences(struct pm_another *another, size_t at, char sign,
                                      struct pm_another_fields *out, struct pm_error *err)
{
    const struct pm_other_item *item = &another->items.items[at];
    struct pm_other_fields fields;
    struct pm_another_fields list = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_other_fields(another->other, item->kind, item->id, &fields, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < fields.count; i++) {
        const struct pm_other_field *from = &fields.items[i];
        const struct pm_fact_property *property =
            from->fact != NULL ? pm_fact_find(from->fact) : NULL;
        struct pm_another_field *field = pm_list_add(&list);
        if (field == NULL)
            break;
        field->field = pm_arena_text(&list.arena, property != NULL ? property->label : from->field);
        field->mine = pm_arena_text(&list.arena, show(from, from->mine, sign, &text));
        field->theirs = pm_arena_text(&list.arena, show(from, from->theirs, sign, &text));
    }
    status = pm_text_ok(&text) ? pm_arena_status(&list.arena, err) : pm_fail_memory(err);
    pm_text_release(&text);
    pm_list_release(&fields);
    pm_list_give(&list, status, out);
    return status;
}

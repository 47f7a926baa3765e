/* SPDX-License-Identifier: MIT */
/*
 * Forms about an entity: their fields are those of its description, and an error puts the cursor on
 * the field it names. A field of the description that a form leaves out is named here.
 */
#include "shelf_world.h"

#include "permille/base/word.h"
#include "permille/core/batch.h"
#include "permille/core/blind.h"
#include "permille/core/smelled.h"
#include "permille/core/weighed.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define PLAY (&world->play)

/* ---- the forms ------------------------------------------------------------------------------- */

static const struct form {
    const struct pm_entity *entity;
    const char *keys;    /* that open it, from the Bench */
    const char *without; /* attributes it has no field for */
    struct {
        int attribute;
        const char *text;
    } given[2]; /* what is needed before another field can be the one at fault */
} forms[] = {
    {&pm_material_entity, "S n", "", {{PM_MATERIAL_NAME, "Zeta"}}},
    {&pm_constituent_entity, "S Home Down :", "", {{PM_CONSTITUENT_NAME, "Cedrene"}}},
    {&pm_bottle_entity, "S Home Down a", "priced_mass|made_from", {{0, NULL}}},
    {&pm_movement_entity,
     "S Home Down Enter -",
     "at|other|found|corrects",
     {{PM_MOVEMENT_MASS, "1g"}}},
    {&pm_smell_entity, "P a", "when|session|corrects", {{PM_SMELL_INTENSITY, "5"}}},
    {&pm_session_entity, "P n", "when", {{0, NULL}}},
    {&pm_panel_entity,
     "P b n",
     "seed",
     {{PM_PANEL_NAME, "Dry or wet"}, {PM_PANEL_TRIALS, "Harbour/1, Harbour/2"}}},
};
#define FORMS (sizeof forms / sizeof forms[0])

static void open_form(struct bench_world *world, const struct form *form)
{
    play_keys(PLAY, "Esc Esc Esc B");
    play_keys(PLAY, form->keys);
}

/* Whether the cursor is in the row that begins with the title. */
static bool is_on(struct bench_world *world, const char *title)
{
    const char *row = play_row(PLAY, world->play.grid.cursor_row);
    const size_t length = strlen(title);
    row += strspn(row, " ");
    return strncmp(row, title, length) == 0 && (row[length] == ' ' || row[length] == '\0');
}

static void go_to(struct bench_world *world, const char *title)
{
    for (int i = 0; i < 20 && !is_on(world, title); i++)
        play_keys(PLAY, "Down");
    play_sees(PLAY, title);
    if (!is_on(world, title))
        fail_msg("the cursor is never on the field \"%s\"", title);
}

static void type_into(struct bench_world *world, const struct pm_attribute *attribute,
                      const char *text)
{
    go_to(world, attribute->title);
    play_keys(PLAY, "End Ctrl-U");
    play_type(PLAY, text);
}

/* What cannot be read as the attribute; NULL: anything can, or there are only answers to choose. */
static const char *bad_text(const struct pm_attribute *attribute)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_CAS:
        return "64-17-6";
    case PM_ATTRIBUTE_MASS:
        return "heavy";
    case PM_ATTRIBUTE_STRENGTH:
        return "200%";
    case PM_ATTRIBUTE_SHARE:
        return "90%";
    case PM_ATTRIBUTE_DAY:
        return "2026-02-30";
    case PM_ATTRIBUTE_MONEY:
        return "cheap";
    case PM_ATTRIBUTE_COUNT:
        return "many";
    case PM_ATTRIBUTE_LEVEL:
        return "11";
    case PM_ATTRIBUTE_SPAN:
        return "2 fathoms";
    case PM_ATTRIBUTE_REFERENCE:
        return "Nowhere/7";
    default:
        return NULL;
    }
}

/* ---- the tests ------------------------------------------------------------------------------- */

static void begin(struct bench_world *world)
{
    struct hand *hand = world->hand;
    const int64_t id = hand_formula(hand, "Harbour", 100);
    hand_add(hand, id, "Tar note", 60);
    hand_add(hand, id, "Sea moss", 40);
    hand_keep(hand, id, NULL);
    hand_set(hand, id, "Tar note", 50);
    hand_keep(hand, id, NULL);
    shelf_world_stock(world);
    bench_world_open(world, 50, 100);
    world->play.now = world->hand->time;
    play_keys(PLAY, "o Enter");
}

static void every_attribute_has_its_field(void **state)
{
    struct bench_world *world = *state;
    begin(world);
    for (size_t f = 0; f < FORMS; f++) {
        open_form(world, &forms[f]);
        for (size_t i = 0; i < forms[f].entity->count; i++) {
            const struct pm_attribute *attribute = &forms[f].entity->attributes[i];
            if (!pm_word_among(forms[f].without, attribute->key))
                go_to(world, attribute->title);
        }
    }
}

static void an_error_goes_to_its_field(void **state)
{
    struct bench_world *world = *state;
    size_t wrong = 0;
    begin(world);
    for (size_t f = 0; f < FORMS; f++) {
        const struct form *form = &forms[f];
        for (size_t i = 0; i < form->entity->count; i++) {
            const struct pm_attribute *attribute = &form->entity->attributes[i];
            const char *bad = bad_text(attribute);
            if (bad == NULL || pm_word_among(form->without, attribute->key))
                continue;
            open_form(world, form);
            for (size_t g = 0; g < 2 && form->given[g].text != NULL; g++)
                type_into(world, &form->entity->attributes[form->given[g].attribute],
                          form->given[g].text);
            type_into(world, attribute, bad);
            play_keys(PLAY, "Up Enter");
            if (!is_on(world, attribute->title))
                fail_msg("%s: \"%s\" typed for \"%s\" does not put the cursor there",
                         form->entity->name, bad, attribute->title);
            wrong++;
        }
    }
    assert_true(wrong > 20);
}

/* A form with words of its own. */
static void an_error_of_a_ladder_goes_to_its_field(void **state)
{
    static const struct {
        const char *field, *bad;
    } wrong[] = {
        {"Line", "Nothing"}, {"From", "few"}, {"To", "0.5"}, {"Doses", "1"}, {"Name", "7"}};
    struct bench_world *world = *state;
    begin(world);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        play_keys(PLAY, "Esc Esc Esc B E b n l");
        const char *const good[][2] = {{"Line", "Tar"}, {"From", "1"}, {"To", "16"}};
        for (size_t g = 0; g < 3; g++) {
            go_to(world, good[g][0]);
            play_keys(PLAY, "End Ctrl-U");
            play_type(PLAY, good[g][1]);
        }
        go_to(world, wrong[i].field);
        play_keys(PLAY, "End Ctrl-U");
        play_type(PLAY, wrong[i].bad);
        play_keys(PLAY, "Up Enter");
        if (!is_on(world, wrong[i].field))
            fail_msg("\"%s\" typed for \"%s\" does not put the cursor there", wrong[i].bad,
                     wrong[i].field);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(every_attribute_has_its_field),
        BENCH(an_error_goes_to_its_field),
        BENCH(an_error_of_a_ladder_goes_to_its_field),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

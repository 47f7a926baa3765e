/* SPDX-License-Identifier: MIT */
/*
 * The first steps: a strip under the rooms that says what comes next in an empty library. It looks
 * at what is there, never at what was pressed, so it follows whoever goes another way.
 */
#include "rooms.h"

#include "permille/studio/first_steps.h"

#include <string.h>

/* Ids whose keys a step tells, in the order of its %s. */
#define KEYS_MOST 6

struct step {
    const char *what; /* in the title */
    const char *text; /* with a %s for each key */
    const char *keys[KEYS_MOST];
};

enum { MATERIALS, FORMULA, LINES, CORE, TRACE, SETTLE, KEEP, SMELL, DONE, STEPS };

static const struct step steps[STEPS] = {
    [MATERIALS] =
        {"1 of 6: materials",
         "%s is the Shelf, where materials and bottles stand; there %s brings the starter "
         "materials, with what is known of them, and %s adds one of your own. %s is the "
         "Bench, where formulas are; every room is a capital letter away, %s shows all "
         "keys.",
         {"room-shelf", "starter", "new-material", "room-bench", "help"}},
    [FORMULA] = {"2 of 6: a formula",
                 "On the Bench (%s), %s makes a formula. It is written to a total, its base; until "
                 "that is reached it fills, and nothing gives way.",
                 {"room-bench", "new-formula"}},
    [LINES] =
        {"3 of 6: a core",
         "%s tucks a material in: type part of its name, Enter, then its parts. Put three in: "
         "444, 333 and 222.",
         {"tuck-in"}},
    [CORE] = {"3 of 6: a core",
              "%s marks the lines of the heart one by one; %s then makes them a core: their ratio, "
              "4:3:2 say, is kept whatever else comes in.",
              {"mark", "core"}},
    [TRACE] =
        {"4 of 6: a trace",
         "Tuck in one more with %s, at 0.5 parts or less: under one in a thousand. What gives "
         "way is shown while you type, and the core keeps its ratio. %s takes any step back, "
         "also tomorrow.",
         {"tuck-in", "undo"}},
    [SETTLE] = {"5 of 6: keep",
                "The parts do not add up to the base yet: %s settles the total, in the ratios that "
                "stand there.",
                {"settle"}},
    [KEEP] = {"5 of 6: keep",
              "%s seals the draft as trial 1, for good, with a note of what you were after. The "
              "draft goes on from there.",
              {"keep"}},
    [SMELL] = {"6 of 6: smell",
               "%s is the Blotter: %s puts the trial on a blotter and says when to smell it again; "
               "%s notes what is there, how strong, how much you like it.",
               {"room-blotter", "put-on", "smell-note"}},
    [DONE] =
        {"done",
         "That was the round: shelf, formula, core, trace, trial, blotter. %s shows every key, "
         "%s finds what you want to do by its name.",
         {"help", "find-action"}},
};

static const struct step *next_step(const struct pm_first_steps *is)
{
    if (!is->materials)
        return &steps[MATERIALS];
    if (!is->formulas)
        return &steps[FORMULA];
    if (is->kept)
        return &steps[is->smelled ? DONE : SMELL];
    if (!is->core)
        return &steps[is->lines < 3 ? LINES : CORE];
    return &steps[!is->trace ? TRACE : is->whole ? KEEP : SETTLE];
}

/* The key that does it in some room; the id where it has none. */
static const char *key_of(const struct pm_app *app, const char *id, char *buf)
{
    return id == NULL ? "" : *pm_app_key(app, id, buf) ? buf : id;
}

static bool say(struct pm_app *app, struct pm_text *title, struct pm_text *text)
{
    const struct pm_house *house = pm_app_host(app);
    struct pm_first_steps is;
    char keys[KEYS_MOST][PM_KEY_TEXT], leave[PM_KEY_TEXT];
    if (!house->guided || pm_first_steps(house->studio, house->formula, &is, NULL) != PM_OK)
        return false;
    const struct step *step = next_step(&is);
    const char *from = step->text;
    for (size_t i = 0; i < KEYS_MOST && step->keys[i] != NULL; i++) {
        const char *place = strstr(from, "%s");
        pm_text_add_bytes(text, from, (size_t)(place - from));
        pm_text_add(text, key_of(app, step->keys[i], keys[i]));
        from = place + 2;
    }
    pm_text_add(text, from);
    pm_text_addf(title, "First steps, %s (%s leaves them)", step->what,
                 key_of(app, "first-steps", leave));
    return true;
}

static enum pm_status toggle(struct pm_app *app, struct pm_error *err)
{
    struct pm_house *house = pm_app_host(app);
    char key[PM_KEY_TEXT];
    const enum pm_status status = pm_first_steps_want(house->studio, !house->guided, err);
    if (status != PM_OK && house->guided)
        house->guided = false; /* out of the way, if not for good */
    if (status != PM_OK)
        return status;
    house->guided = !house->guided;
    if (!house->guided)
        pm_app_say(app, "The first steps are left; %s shows them again.",
                   key_of(app, "first-steps", key));
    return PM_OK;
}

const struct pm_guide pm_first_steps_guide = {say, toggle};

/* SPDX-License-Identifier: MIT */
/* One meaning per key in all rooms: the tables of the rooms are walked, and every room is tried. */
#include "bench_world.h"

#include <stdio.h>
#include <string.h>

#define WORLD ((struct bench_world *)*state)
#define PLAY  (&WORLD->play)

/* ---- the tables ---- */

/* A key where a room offers it. */
struct use {
    const char *room;
    const struct pm_action *action;
    struct pm_key key;
};

#define USES 800

static size_t uses_of(const char *room, const struct pm_action_table *table, struct use *uses,
                      size_t count)
{
    for (size_t i = 0; i < table->count; i++) {
        const struct pm_action *action = &table->rows[i];
        for (const char *at = pm_action_keys(action); *at != '\0'; at += strspn(at, " ")) {
            const size_t length = strcspn(at, " ");
            assert_in_range(count, 0, USES - 1);
            uses[count] = (struct use){room, action, {0}};
            assert_true(pm_key_read(at, length, &uses[count++].key));
            at += length;
        }
    }
    return count;
}

static size_t all_uses(struct use *uses)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    size_t count = 0;
    for (size_t i = 0; i < spec.room_count; i++)
        count = uses_of(spec.rooms[i]->name, spec.rooms[i]->actions, uses, count);
    return count;
}

static bool same_meaning(const struct use *a, const struct use *b)
{
    return a->action->verb != PM_VERB_NONE
               ? a->action->verb == b->action->verb
               : b->action->verb == PM_VERB_NONE &&
                     strcmp(pm_action_id(a->action), pm_action_id(b->action)) == 0;
}

static void a_key_means_the_same_in_all_rooms(void **state)
{
    static struct use uses[USES];
    const size_t count = all_uses(uses);
    size_t faults = 0;
    char name[PM_KEY_TEXT];
    (void)state;
    assert_in_range(count, 100, USES);
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < i; k++)
            if (pm_key_equal(uses[i].key, uses[k].key) && !same_meaning(&uses[i], &uses[k])) {
                print_error("%s: \"%s\" on the %s, \"%s\" on the %s\n",
                            pm_key_name(uses[i].key, name), pm_action_id(uses[k].action),
                            uses[k].room, pm_action_id(uses[i].action), uses[i].room);
                faults++;
            }
    assert_int_equal(faults, 0);
}

/* The keys that lead to rooms, and the toolkit's own, are nobody else's. The general ones (arrows,
 * Enter, Esc) may be shadowed, only by the verb that says more exactly what they do. */
static void no_room_takes_a_key_of_the_house(void **state)
{
    static struct use uses[USES], house[USES];
    const struct pm_app_spec spec = pm_rooms_spec();
    const size_t count = all_uses(uses);
    const size_t general = uses_of("everywhere", &pm_toolkit_actions, house, 0);
    char name[PM_KEY_TEXT];
    (void)state;
    for (size_t i = 0; i < count; i++) {
        for (size_t r = 0; r < spec.room_count; r++) {
            struct pm_key key;
            assert_true(pm_key_read(spec.rooms[r]->keys, 1, &key));
            if (pm_key_equal(uses[i].key, key))
                fail_msg("%s of \"%s\" leads to the room %s", pm_key_name(key, name),
                         pm_action_id(uses[i].action), spec.rooms[r]->name);
        }
        for (size_t k = 0; k < general; k++)
            if (pm_key_equal(uses[i].key, house[k].key) &&
                (house[k].action->modes & PM_MODE_SHEET) != 0 &&
                uses[i].action->verb != PM_VERB_OPEN)
                fail_msg("%s of \"%s\" is \"%s\" everywhere", pm_key_name(uses[i].key, name),
                         pm_action_id(uses[i].action), pm_action_id(house[k].action));
    }
}

/* They begin a number on the Bench; digits begin one in other rooms, too. */
static void what_begins_a_number_is_no_key(void **state)
{
    static struct use uses[USES];
    const size_t count = all_uses(uses);
    (void)state;
    for (size_t i = 0; i < count; i++)
        if (pm_key_begins_number(uses[i].key))
            fail_msg("\"%s\" has the key %c", pm_action_id(uses[i].action), (int)uses[i].key.code);
}

/* Also what only some modes of a room offer. */
static void no_room_offers_a_key_twice(void **state)
{
    static struct use uses[USES];
    const struct pm_app_spec spec = pm_rooms_spec();
    char name[PM_KEY_TEXT];
    (void)state;
    for (size_t r = 0; r < spec.room_count; r++) {
        const size_t count = uses_of(spec.rooms[r]->name, spec.rooms[r]->actions, uses, 0);
        for (size_t i = 0; i < count; i++)
            for (size_t k = 0; k < i; k++)
                if (pm_key_equal(uses[i].key, uses[k].key) &&
                    (uses[i].action->modes & uses[k].action->modes) != 0)
                    fail_msg("%s twice on the %s: \"%s\", \"%s\"", pm_key_name(uses[i].key, name),
                             uses[i].room, pm_action_id(uses[k].action),
                             pm_action_id(uses[i].action));
    }
}

/* A verb belongs to several rooms, or to several modes of one: the rest are actions. Ids of verbs
 * are no actions' ids, so that a line of a key file means one thing. */
static void verbs_have_ids_of_their_own(void **state)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    (void)state;
    for (int verb = 1; verb < PM_VERBS; verb++) {
        assert_non_null(pm_verbs[verb].id);
        for (int other = 1; other < verb; other++) {
            assert_string_not_equal(pm_verbs[verb].id, pm_verbs[other].id);
            assert_string_not_equal(pm_verbs[verb].keys, pm_verbs[other].keys);
        }
        for (size_t r = 0; r < spec.room_count; r++)
            for (size_t i = 0; i < spec.rooms[r]->actions->count; i++)
                if (spec.rooms[r]->actions->rows[i].id != NULL)
                    assert_string_not_equal(spec.rooms[r]->actions->rows[i].id, pm_verbs[verb].id);
    }
}

/* The same key finds a row in every list. */
static void every_room_can_be_searched(void **state)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    (void)state;
    for (size_t r = 0; r < spec.room_count; r++) {
        uint32_t found = 0, offered = 0;
        for (size_t i = 0; i < spec.rooms[r]->actions->count; i++) {
            const struct pm_action *action = &spec.rooms[r]->actions->rows[i];
            offered |= action->modes;
            found |= action->verb == PM_VERB_SEARCH ? action->modes : 0;
        }
        if (found != offered)
            fail_msg("a list of the %s cannot be searched", spec.rooms[r]->name);
    }
}

/* ---- undo ---- */

/* Where each room, and each list of a room, is reached from the Bench. */
static const struct place {
    const char *keys;
    const char *says; /* part of the sentence that answers u */
} places[] = {
    {"B", "Undid"},
    {"T", "sealed"},
    {"T C", "sealed"},
    {"S", "Undid"},
    {"P", "Nothing was stopped here"},
    {"P b", "Answers are never taken out"},
    {"I", "Nothing is written yet"},
    {"L", "a figure of your own away again"},
    {"E", "Nothing of the formula is changed here"},
    {"E b", "its trials stay"},
    {"W", "Batches are a record"},
};

static void undo_works_or_says_why_not_in_each_room(void **state)
{
    static const char *const keys[] = {"u", "Ctrl-Z"};
    bench_harbour(WORLD, 24, 80);
    play_keys(PLAY, "w Enter 7 Enter"); /* so that Trials has two to show */
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        for (size_t k = 0; k < 2; k++) {
            play_keys(PLAY, "Esc Esc Esc B");
            play_keys(PLAY, places[i].keys);
            play_keys(PLAY, keys[k]);
            play_misses(PLAY, "does nothing here");
            play_sees(PLAY, places[i].says);
        }
}

/* ---- the way to other rooms ---- */

static void every_room_names_the_others_at_80_columns(void **state)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    bench_world_open(WORLD, 24, 80);
    for (size_t r = 0; r < spec.room_count; r++) {
        play_keys(PLAY, (const char[]){spec.rooms[r]->keys[0], '\0'});
        play_sees(PLAY, spec.rooms[r]->name);
        for (size_t other = 0; other < spec.room_count; other++) {
            const char *named = strstr(play_row(PLAY, 1), spec.rooms[other]->name);
            if ((named != NULL) != (other != r))
                fail_msg("%s: %s", spec.rooms[r]->name, play_row(PLAY, 1));
            /* Its key: the letter it begins with, or before it. */
            const char *before = named;
            if (named != NULL && spec.rooms[other]->keys[0] != named[0])
                before = named - 2;
            if (named != NULL)
                assert_int_equal(before[0], spec.rooms[other]->keys[0]);
        }
    }
}

/* ---- help ---- */

/* The keys column of a row of the help, without blanks at its end; "" where there is none. */
static void keys_of(const char *row, char out[20])
{
    size_t length = strlen(row) < 17 ? strlen(row) : 17;
    out[0] = '\0';
    if (row[0] != ' ' || length < 17 || row[1] == ' ')
        return;
    memcpy(out, row + 1, length - 1);
    for (length--; length > 0 && out[length - 1] == ' '; length--)
        ;
    out[length] = '\0';
}

#define HELP_ROWS 200

/* The row of the help where it goes on to what works elsewhere. */
static int elsewhere_from(struct play *play)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    int least = play_find(play, " While typing");
    for (size_t r = 0; r <= spec.room_count; r++) {
        const char *heading = r < spec.room_count ? spec.rooms[r]->mode_heading : " In the room";
        const int row = heading != NULL ? play_find(play, heading) : -1;
        least = row > 0 && row < least ? row : least;
    }
    return least;
}

/* No line of it stands there twice, and no key means two things in what works here. */
static void help_repeats_nothing(void **state)
{
    static char rows[HELP_ROWS][400];
    bench_world_open(WORLD, HELP_ROWS, 130);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        play_keys(PLAY, "Esc Esc Esc B");
        play_keys(PLAY, places[i].keys);
        play_keys(PLAY, "?");
        const int first = play_find(PLAY, "All keys ") + 1;
        const int typing = elsewhere_from(PLAY);
        assert_in_range(first, 1, HELP_ROWS);
        assert_in_range(typing, first + 20, HELP_ROWS);
        for (int row = first; row < HELP_ROWS - 2; row++) {
            char keys[20], others[20];
            snprintf(rows[row], sizeof rows[row], "%s", play_row(PLAY, row));
            keys_of(rows[row], keys);
            for (int other = first; keys[0] != '\0' && other < row; other++) {
                assert_string_not_equal(rows[other], rows[row]);
                keys_of(rows[other], others);
                if (row < typing && strcmp(keys, "(no key)") != 0 && strcmp(others, keys) == 0)
                    fail_msg("%s: %s / %s", places[i].keys, rows[other], rows[row]);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_key_means_the_same_in_all_rooms),
        cmocka_unit_test(no_room_takes_a_key_of_the_house),
        cmocka_unit_test(what_begins_a_number_is_no_key),
        cmocka_unit_test(no_room_offers_a_key_twice),
        cmocka_unit_test(verbs_have_ids_of_their_own),
        cmocka_unit_test(every_room_can_be_searched),
        BENCH(every_room_names_the_others_at_80_columns),
        BENCH(help_repeats_nothing),
        BENCH(undo_works_or_says_why_not_in_each_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

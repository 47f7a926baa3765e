/* SPDX-License-Identifier: MIT */
/* The Settings room, and that the other rooms begin with what it says. */
#include "bench_world.h"

#include "permille/base/mem.h"
#include "permille/studio/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The test run has a home of its own; each test begins without settings of the machine. */
static int set_up(void **state)
{
    char *path = NULL;
    unsetenv("XDG_CONFIG_HOME");
    if (pm_machine_path("settings", &path, NULL) != PM_OK)
        return -1;
    unlink(path);
    pm_free(path);
    if (pm_machine_path("keys", &path, NULL) != PM_OK)
        return -1;
    unlink(path);
    pm_free(path);
    return bench_world_setup(state);
}

static const char *value_of(struct bench_world *world, enum pm_setting_number number)
{
    static char value[200];
    char *text = NULL;
    hand_ok(world->hand, pm_settings_text(world->hand->studio, number, &text, &world->hand->err));
    snprintf(value, sizeof value, "%s", text);
    pm_free(text);
    return value;
}

static void shows_what_is_chosen(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M");
    play_golden(play, "settings-80x24");
    play_resize(play, 30, 160);
    play_golden(play, "settings-160x30");
}

/* A hint that is longer than a row has as many as it needs. */
static void hints_are_told_to_the_end(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M Down Down Down Down Down Down Down Down Down Enter");
    play_sees(play, "Colours  < both >");
    play_sees(play, "monochrome.");
    play_misses(play, "or \xE2\x80\xA6");
}

static void changes_and_takes_back(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M Enter");
    play_type(play, "nothing");
    play_keys(play, "Enter");
    play_sees(play, "The base"); /* refused, and still open */
    play_keys(play, "Ctrl-U");
    play_type(play, "100");
    play_keys(play, "Enter");
    play_sees(play, "Base: 100. Saved in the library.");
    assert_string_equal(value_of(world, PM_SETTING_BASE), "100");
    play_keys(play, "Down Enter Right Enter");
    play_sees(play, "Mode: share. Saved in the library.");
    /* A new formula begins with both. */
    play_keys(play, "B N");
    play_sees(play, "share");
    play_type(play, "Small");
    play_keys(play, "Enter");
    play_sees(play, "base 100");
    play_keys(play, "M u");
    play_sees(play, "Mode: core. Saved in the library.");
    play_keys(play, "u");
    play_sees(play, "Mode: share. Saved in the library.");
    play_keys(play, "d");
    play_sees(play, "Mode: core. Saved in the library.");
    play_keys(play, "d");
    play_sees(play, "Mode is at its default.");
    play_keys(play, "Esc");
    play_sees(play, "Bench");
}

static void machine_goes_beside_the_library(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M End Up Up Up Enter Left Enter");
    play_sees(play, "Clipboard: no. Saved on this machine.");
    assert_string_equal(value_of(world, PM_SETTING_CLIPBOARD), "no");
    assert_false(world->house.settings.clipboard);
}

static void parts_follow_the_decimals(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_sees(play, "500.00 ");
    play_keys(play, "M Down Down Enter");
    play_type(play, "4");
    play_keys(play, "Enter");
    play_sees(play, "Decimals: 4.");
    play_keys(play, "B");
    play_sees(play, "500.0000");
    play_sees(play, "1000.0000");
    play_keys(play, "i");
    play_sees(play, "500.0000");
}

static void batch_and_balance_count(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M Down Down Down Enter");
    play_type(play, "250 g");
    play_keys(play, "Enter");
    play_sees(play, "Batch: 250 g.");
    assert_int_equal(pm_house_batch(&world->house), 250 * PM_GRAM);
    play_keys(play, "Down Enter");
    play_type(play, "Fine");
    play_keys(play, "Enter");
    play_sees(play, "There is no balance called");
    play_keys(play, "Esc");
}

static void keys_are(const char *expected)
{
    char *text = NULL;
    assert_int_equal(pm_machine_keys(&text, NULL), PM_OK);
    assert_string_equal(text, expected);
    pm_free(text);
}

/* A verb in all rooms: what clashes is said while typing and refused; it works at once, is kept,
 * and is taken back. */
static void a_verb_gets_keys_of_ones_own(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M K");
    play_golden(play, "settings-own-keys-80x24");
    play_type(play, "search");
    play_keys(play, "Enter");
    play_sees(play, "Keys  /");
    play_keys(play, "Ctrl-U");
    play_type(play, "a Alt-s");
    play_sees(play, "a already means \"tuck in\" (Lines).");
    play_keys(play, "Enter");
    play_sees(play, "a already means");
    keys_are("");
    play_keys(play, "Ctrl-U");
    play_type(play, "hyper-s");
    play_sees(play, "\"hyper-s\" is no key");
    play_keys(play, "Ctrl-U");
    play_type(play, "Alt-s Alt-q");
    play_keys(play, "Enter");
    play_sees(play, "Keys of search: Alt-s Alt-q. Saved on this machine.");
    keys_are("search Alt-s Alt-q\n");
    play_keys(play, "Alt-s");
    play_sees(play, "Find a setting");
    play_keys(play, "Esc B Alt-q");
    play_sees(play, "Find a line");
    play_keys(play, "Esc /");
    play_misses(play, "Find a line");
    play_keys(play, "M u");
    play_sees(play, "Keys of search: the default ones. Saved on this machine.");
    keys_are("");
    play_keys(play, "/");
    play_sees(play, "Find a setting");
    play_keys(play, "Esc u");
    keys_are("search Alt-s Alt-q\n");
}

/* One action in one room; an empty field is the default again. */
static void an_action_gets_its_keys_back(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    play_keys(play, "M K");
    play_type(play, "own-keys");
    play_keys(play, "Enter Ctrl-U");
    play_type(play, "none");
    play_keys(play, "Enter");
    play_sees(play, "Keys of own-keys: none.");
    keys_are("own-keys none\n");
    play_keys(play, "K");
    play_misses(play, "\xE2\x94\x80 Own keys"); /* by its name it is done all the same */
    play_keys(play, ";");
    play_type(play, "own keys");
    play_keys(play, "Enter");
    play_type(play, "own-keys");
    play_keys(play, "Enter Ctrl-U");
    play_sees(play, "The default again: K.");
    play_keys(play, "Enter");
    keys_are("");
    play_keys(play, "K");
    play_sees(play, "\xE2\x94\x80 Own keys");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(shows_what_is_chosen, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(hints_are_told_to_the_end, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(changes_and_takes_back, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(machine_goes_beside_the_library, set_up,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(parts_follow_the_decimals, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(batch_and_balance_count, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_verb_gets_keys_of_ones_own, set_up, bench_world_teardown),
        cmocka_unit_test_setup_teardown(an_action_gets_its_keys_back, set_up, bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/*
 * The editor in plain lines, for a screen reader: the program for real on a pseudo-terminal. What a
 * person would hear is what it writes, a line each.
 */
#include "bench_world.h"

#include "src/tui/kit/speech.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

static struct stage *open_in_lines(struct hand *hand, const char *term)
{
    static char program[256], file[256], db[] = "--db", linear[] = "--linear";
    static char *argv[] = {program, db, file, linear, NULL};
    const char *build = getenv("BUILD");
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Alderwood ketone", 500);
    hand_add(hand, id, "Breeze salicylate", 300);
    hand_add(hand, id, "Calm musk", 200);
    pm_studio_close(hand->studio);
    hand->studio = NULL;
    snprintf(program, sizeof program, "%s/permille", build != NULL ? build : "build");
    snprintf(file, sizeof file, "%s", hand->path);
    const struct stage_spec spec = {.rows = 24, .columns = 100, .program = argv, .term = term};
    return stage_start(&spec);
}

static void wrote(struct stage *stage, const char *line)
{
    if (!stage_wrote(stage, line))
        stage_fail(stage, line);
}

static void says_row_preview_and_message(void **state)
{
    struct hand *hand = *state;
    struct stage *stage = open_in_lines(hand, NULL);
    stage_sees(stage, "Bench Harbour");
    wrote(stage, "Row 1 of 3: # 1; material Alderwood ketone; ");
    stage_keys(stage, "Down");
    stage_sees(stage, "Row 2 of 3");
    wrote(stage, "material Breeze salicylate; parts 300.00");
    stage_type(stage, "600");
    stage_sees(stage, "Typing parts: 600");
    stage_keys(stage, "Enter");
    stage_sees(stage, "300 \xE2\x86\x92 600"); /* the preview */
    stage_sees(stage, "Set Breeze salicylate from 300 to 600; 2 lines gave way. Saved.");
    /* Written line by line: no other screen, nothing placed, nothing drawn or coloured. */
    assert_false(stage_alternate(stage));
    assert_false(stage_wrote(stage, "\033[H"));
    assert_false(stage_wrote(stage, "\033[2J"));
    assert_false(stage_wrote(stage, "\xE2\x94\x80"));
    assert_false(stage_wrote(stage, "\xE2\x94\x81"));
    stage_keys(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
}

static void says_what_is_asked(void **state)
{
    struct hand *hand = *state;
    struct stage *stage = open_in_lines(hand, NULL);
    stage_sees(stage, "Bench Harbour");
    stage_keys(stage, "N");
    stage_sees(stage, "Name, field 1 of 4: empty");
    stage_type(stage, "Low");
    stage_sees(stage, "Name, field 1 of 4: Low");
    stage_keys(stage, "Down Down Down");
    stage_sees(stage, "Mode, field 4 of 4: core");
    stage_sees(stage, "Answer 2: share");
    stage_keys(stage, "Esc");
    stage_keys(stage, "Down");
    stage_sees(stage, "Row 2 of 3");
    stage_end(stage);
}

static void any_terminal_will_do(void **state)
{
    struct hand *hand = *state;
    struct stage *stage = open_in_lines(hand, "dumb");
    stage_sees(stage, "Row 1 of 3");
    stage_type(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
}

/* ---- the lines themselves ---- */

static void only_what_changed(void **state)
{
    struct pm_speech speech = {.lines = PM_TEXT_EMPTY};
    struct pm_text out = PM_TEXT_EMPTY;
    (void)state;
    pm_speech_begin(&speech);
    pm_speech_line(&speech, "Room  one \xE2\x94\x80\xE2\x94\x80 end");
    pm_speech_line(&speech, "Row 1");
    pm_speech_line(&speech, "  ");
    pm_speech_new(&speech, false, &out);
    assert_string_equal(pm_text_get(&out), "Room one end\nRow 1\n");
    pm_text_clear(&out);
    pm_speech_begin(&speech);
    pm_speech_line(&speech, "Room one end");
    pm_speech_line(&speech, "Row 2");
    pm_speech_line(&speech, "%cSaved.", PM_SPEECH_NEWS);
    pm_speech_new(&speech, false, &out);
    assert_string_equal(pm_text_get(&out), "Row 2\nSaved.\n");
    pm_text_clear(&out);
    pm_speech_begin(&speech);
    pm_speech_line(&speech, "Row 2");
    pm_speech_line(&speech, "%cSaved.", PM_SPEECH_NEWS); /* once more: it happened once more */
    pm_speech_new(&speech, false, &out);
    assert_string_equal(pm_text_get(&out), "Saved.\n");
    pm_text_clear(&out);
    pm_speech_new(&speech, true, &out);
    assert_string_equal(pm_text_get(&out), "Row 2\nSaved.\n");
    pm_text_release(&out);
    pm_speech_release(&speech);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(says_row_preview_and_message, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(says_what_is_asked, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(any_terminal_will_do, hand_setup, hand_teardown),
        cmocka_unit_test(only_what_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

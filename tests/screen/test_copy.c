/* SPDX-License-Identifier: MIT */
/*
 * Copying what is in front: every room's table by the same key, into the clipboard or a file, with
 * all rows and columns, harmless for spreadsheets. The bytes that reach a terminal are read back on
 * a pseudo-terminal and decoded after RFC 4648, section 4.
 */
#include "bench_world.h"
#include "shelf_world.h"

#include "src/tui/kit/copy.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/studio/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[4096], start[4096]; /* of the program; where the tests were started */

static int set_up(void **state)
{
    if (bench_world_setup(state) != 0)
        return -1;
    struct bench_world *world = *state;
    /* The program is found from another folder as well. */
    const char *build = getenv("BUILD");
    if (getcwd(start, sizeof start) == NULL ||
        realpath(build != NULL ? build : "build", folder) == NULL)
        return -1;
    return chdir(world->hand->folder);
}

static int tear_down(void **state)
{
    unlink("permille-copy.tsv");
    unlink("permille-copy-2.tsv");
    return chdir(start) != 0 || bench_world_teardown(state) != 0 ? -1 : 0;
}

/* What was copied, taken away; "" when nothing was. */
static const char *copied(struct bench_world *world)
{
    static char text[100000];
    char **wish = &world->play.wishes.copy;
    snprintf(text, sizeof text, "%s", *wish != NULL ? *wish : "");
    pm_free(*wish);
    *wish = NULL;
    return text;
}

static void has_row(const char *text, const char *row)
{
    if (strstr(text, row) == NULL)
        fail_msg("no \"%s\" in:\n%s", row, text);
}

/* Cells of the longest row. */
static size_t width_of(const char *text)
{
    size_t widest = 0, cells = 1;
    for (; *text != '\0'; text++) {
        cells = *text == '\n' ? 1 : cells + (*text == '\t');
        widest = cells > widest ? cells : widest;
    }
    return widest;
}

static void the_bench_with_its_total(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(&world->play, "Y");
    play_sees(&world->play, "Copied 3 rows to the terminal's clipboard.");
    const char *text = copied(world);
    has_row(text, "Alderwood ketone\t");
    has_row(text, "\t500.00\t");
    has_row(text, "Calm musk\t");
    has_row(text, "1000.00");
    /* What there is no room for at 80 columns is copied as well. */
    const size_t narrow = width_of(text);
    play_resize(&world->play, 50, 200);
    play_keys(&world->play, "Y");
    assert_int_equal(width_of(copied(world)), narrow);
}

static void every_room(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    shelf_world_stock(world);
    shelf_world_formula(world);
    shelf_world_open(world, 24, 80);
    play_keys(play, "Y");
    play_sees(play, "Copied");
    has_row(copied(world), "material\t");
    play_keys(play, "B o Enter w Enter Y");
    has_row(copied(world), "material");
    play_keys(play, "i Y"); /* the flat view */
    has_row(copied(world), "material\tneat\tas solvent\tshare\n");
    play_keys(play, "Esc T Y");
    has_row(copied(world), "trial");
    play_keys(play, "L Y");
    has_row(copied(world), "verdict");
    play_keys(play, "M Y");
    has_row(copied(world), "Base\t1000");
    /* A page: here every key there is. */
    play_keys(play, "? Y");
    has_row(copied(world), "copy table");
    play_keys(play, "Esc W Y");
    play_sees(play, "no table here"); /* no batch was made yet */
    assert_string_equal(copied(world), "");
}

static void all_rows_of_a_long_list(void **state)
{
    struct bench_world *world = *state;
    bench_stock(world);
    int64_t id = hand_formula(world->hand, "Long", 1000);
    for (int i = 0; i < 60; i++) {
        char name[40];
        snprintf(name, sizeof name, "Substance %d", i);
        hand_material(world->hand, name);
        hand_add(world->hand, id, name, 10);
    }
    bench_world_open(world, 24, 80);
    play_keys(&world->play, "Down Down");
    const int row = play_find(&world->play, "Substance 2");
    play_keys(&world->play, "Y");
    play_sees(&world->play, "Copied 60 rows");
    const char *text = copied(world);
    has_row(text, "Substance 0\t");
    has_row(text, "Substance 59\t");
    assert_int_equal(play_find(&world->play, "Substance 2"), row); /* nothing scrolled */
}

static void a_file_when_the_clipboard_is_not_to_have_it(void **state)
{
    struct bench_world *world = *state;
    char line[200] = "";
    bench_harbour(world, 24, 80);
    world->house.settings.clipboard = false;
    play_keys(&world->play, "Y");
    play_sees(&world->play, "Copied 3 rows into the file permille-copy.tsv of the current folder.");
    assert_string_equal(copied(world), "");
    FILE *file = fopen("permille-copy.tsv", "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    fclose(file);
    assert_non_null(strstr(line, "\t"));
    play_keys(&world->play, "Y"); /* never over what is there */
    play_sees(&world->play, "permille-copy-2.tsv");
    /* Where nothing can be written that is said. */
    assert_int_equal(chdir("/proc"), 0);
    play_keys(&world->play, "Y");
    play_sees(&world->play, "cannot be written");
    assert_int_equal(chdir(world->hand->folder), 0);
}

static void harmless_for_spreadsheets(void **state)
{
    struct pm_text out = PM_TEXT_EMPTY;
    (void)state;
    pm_tsv_field(&out, "=1+1", true);
    pm_tsv_field(&out, " @sum", false);
    pm_tsv_field(&out, "+cmd", false);
    pm_tsv_field(&out, "-2,5 %", false);
    pm_tsv_field(&out, "+0.5", false);
    pm_tsv_field(&out, "a\tb\nc", false);
    pm_tsv_field(&out, "-", false);
    assert_string_equal(pm_text_get(&out), "'=1+1\t' @sum\t'+cmd\t-2,5 %\t+0.5\ta b c\t'-");
    pm_text_release(&out);
}

/* ---- a real terminal ---- */

static int digit_of(char c)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const char *at = c != '\0' ? strchr(digits, c) : NULL;
    return at != NULL ? (int)(at - digits) : -1;
}

/* The other way round than the program: from what the test expects to the bytes on the wire. */
static void encoded(const char *text, char *out)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    unsigned bits = 0;
    int held = 0;
    size_t sent = 0;
    for (; *text != '\0'; text++) {
        bits = bits << 8 | (unsigned char)*text;
        for (held += 8; held >= 6; held -= 6)
            out[sent++] = digits[bits >> (held - 6) & 63];
    }
    out[sent] = '\0';
    assert_true(sent == 0 || digit_of(out[0]) >= 0);
}

static void the_terminal_gets_it(void **state)
{
    struct bench_world *world = *state;
    static char program[4200], file[256], db[] = "--db";
    char begin[200], bytes[400];
    bench_harbour(world, 24, 80);
    play_keys(&world->play, "M Y");
    const char *text = copied(world);
    /* Whole groups of three bytes, so that the beginning is encoded the same. */
    snprintf(begin, sizeof begin, "%.60s", text);
    encoded(begin, bytes);
    char wanted[500];
    snprintf(wanted, sizeof wanted, "\033]52;c;%s", bytes);
    pm_app_free(world->play.app);
    world->play.app = NULL;
    pm_studio_close(world->hand->studio);
    world->hand->studio = NULL;
    assert_int_equal(chdir(start), 0); /* sanitizers write beside where they are started */
    snprintf(program, sizeof program, "%s/permille", folder);
    snprintf(file, sizeof file, "%s", world->hand->path);
    char *argv[] = {program, db, file, NULL};
    struct stage_spec spec = {.rows = 24, .columns = 80, .program = argv};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "Harbour");
    stage_type(stage, "M");
    stage_sees(stage, "Times to smell");
    assert_false(stage_wrote(stage, "\033]52;"));
    stage_type(stage, "Y");
    stage_sees(stage, "Copied");
    assert_true(stage_wrote(stage, wanted));
    stage_type(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_bench_with_its_total, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_room, set_up, tear_down),
        cmocka_unit_test_setup_teardown(all_rows_of_a_long_list, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_file_when_the_clipboard_is_not_to_have_it, set_up,
                                        tear_down),
        cmocka_unit_test(harmless_for_spreadsheets),
        cmocka_unit_test_setup_teardown(the_terminal_gets_it, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

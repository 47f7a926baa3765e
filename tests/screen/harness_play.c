/* SPDX-License-Identifier: MIT */
/* Plays: an application driven in the process. */
#include "harness.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define START INT64_C(1772460300) /* 2026-03-02 14:05 UTC */

static int64_t play_clock(void *context)
{
    return *(const int64_t *)context;
}

static char *whole_text(struct play *play)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_grid_dump_text(&play->grid, &text);
    char *taken = pm_text_take(&text);
    assert_non_null(taken);
    return taken;
}

static void play_fail(struct play *play, const char *what)
{
    print_error("%s\ncursor %d,%d\n", what, play->grid.cursor_row, play->grid.cursor_column);
    /* Row by row: cmocka cuts longer texts. */
    for (int row = 0; row < play->grid.rows; row++)
        print_error("|%s\n", play_row(play, row));
    fail();
}

/* ---- driving --------------------------------------------------------------------------------- */

static void check_grid(struct play *play)
{
    const struct pm_grid *grid = &play->grid;
    if (grid->cursor_row < 0 || grid->cursor_row >= grid->rows || grid->cursor_column < 0 ||
        grid->cursor_column >= grid->columns)
        play_fail(play, "the cursor is not on the screen");
    for (int row = 0; row < grid->rows; row++) {
        for (int column = 0; column < grid->columns; column++) {
            int width = pm_grid_cell(grid, row, column)->width;
            const struct pm_cell *next = pm_grid_cell(grid, row, column + 1);
            bool half_follows = next != NULL && next->width == 0;
            if ((width == 2) != half_follows)
                play_fail(play, "a wide glyph is torn");
        }
    }
}

static void paint(struct play *play)
{
    pm_app_draw(play->app, &play->grid);
    play->paints++;
    check_grid(play);
}

static void take_wishes(struct play *play)
{
    struct pm_wishes wishes = pm_app_wishes(play->app);
    play->wishes.quit |= wishes.quit;
    play->wishes.suspend |= wishes.suspend;
    play->wishes.repaint |= wishes.repaint;
    if (wishes.signal)
        play->wishes.signal = wishes.signal;
    if (wishes.copy != NULL) {
        pm_free(play->wishes.copy);
        play->wishes.copy = wishes.copy;
    }
}

static void settle(struct play *play)
{
    take_wishes(play);
    if (pm_app_stale(play->app))
        paint(play);
    if (pm_app_job_pending(play->app)) {
        pm_app_work(play->app);
        paint(play);
    }
}

void play_start(struct play *play, struct pm_app_spec spec, int rows, int columns)
{
    struct pm_error err = {0};
    *play = (struct play){.now = START};
    play->clock = (struct pm_clock){play_clock, &play->now};
    spec.clock = &play->clock;
    assert_true(pm_grid_init(&play->grid, rows, columns));
    if (pm_app_new(&play->app, &spec, &err) != PM_OK)
        fail_msg("%s", err.text);
    paint(play);
}

void play_end(struct play *play)
{
    pm_app_free(play->app);
    pm_grid_release(&play->grid);
    pm_free(play->wishes.copy);
}

void play_event(struct play *play, const struct pm_event *event)
{
    pm_app_event(play->app, event);
    settle(play);
}

void play_keys(struct play *play, const char *names)
{
    while (*(names += strspn(names, " "))) {
        struct pm_event event = {.kind = PM_EVENT_KEY};
        size_t length = strcspn(names, " ");
        if (!pm_key_read(names, length, &event.key))
            fail_msg("\"%.*s\" is no key", (int)length, names);
        play_event(play, &event);
        names += length;
    }
}

void play_type(struct play *play, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        uint32_t code;
        size_t step = pm_utf8_decode(text, left, &code);
        struct pm_event event = {.kind = PM_EVENT_KEY, .key = pm_key_make(code, 0)};
        play_event(play, &event);
        text += step;
        left -= step;
    }
}

void play_paste(struct play *play, const char *text)
{
    struct pm_event event = {.kind = PM_EVENT_PASTE, .text = text};
    play_event(play, &event);
}

void play_resize(struct play *play, int rows, int columns)
{
    struct pm_event event = {.kind = PM_EVENT_RESIZE, .rows = rows, .columns = columns};
    assert_true(pm_grid_resize(&play->grid, rows, columns));
    play_event(play, &event);
}

void play_wait(struct play *play, int64_t seconds)
{
    static const struct pm_event nothing = {.kind = PM_EVENT_NONE};
    int64_t end = play->now + seconds;
    while (play->now < end) {
        int timeout = pm_app_timeout(play->app);
        int64_t step = timeout < 0 ? end - play->now : timeout / 1000;
        step = step < 1 ? 1 : step;
        play->now = play->now + step > end ? end : play->now + step;
        play_event(play, &nothing);
    }
}

/* ---- looking --------------------------------------------------------------------------------- */

const char *play_row(struct play *play, int row)
{
    static char line[8192];
    char *text = whole_text(play);
    const char *at = text;
    while (row-- > 0 && *at)
        at += strcspn(at, "\n") + 1;
    snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
    pm_free(text);
    return line;
}

int play_find(struct play *play, const char *text)
{
    for (int row = 0; row < play->grid.rows; row++)
        if (strstr(play_row(play, row), text) != NULL)
            return row;
    return -1;
}

void play_sees(struct play *play, const char *text)
{
    if (play_find(play, text) < 0) {
        print_error("not on the screen: \"%s\"\n", text);
        play_fail(play, "the screen is:");
    }
}

void play_misses(struct play *play, const char *text)
{
    if (play_find(play, text) >= 0) {
        print_error("should not be on the screen: \"%s\"\n", text);
        play_fail(play, "the screen is:");
    }
}

void play_cursor_on(struct play *play, const char *text)
{
    const char *row = play_row(play, play->grid.cursor_row);
    const char *at = row;
    size_t column = 0;
    while (*at && column < (size_t)play->grid.cursor_column) {
        struct pm_glyph glyph = pm_utf8_next(at);
        column += (size_t)glyph.cells;
        at += glyph.length;
    }
    if (strncmp(at, text, strlen(text)) != 0) {
        print_error("the cursor is not on \"%s\" but on \"%s\"\n", text, at);
        play_fail(play, "the screen is:");
    }
}

/* ---- golden files ---------------------------------------------------------------------------- */

static char *read_file(const char *path)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char chunk[4096];
    size_t got;
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return NULL;
    while ((got = fread(chunk, 1, sizeof chunk, file)) > 0)
        pm_text_add_bytes(&text, chunk, got);
    fclose(file);
    return pm_text_take(&text);
}

/* Shows the first line that differs. */
static void show_difference(const char *expected, const char *actual)
{
    for (int line = 1; *expected || *actual; line++) {
        size_t e = strcspn(expected, "\n"), a = strcspn(actual, "\n");
        if (e != a || memcmp(expected, actual, e) != 0) {
            print_error("line %d\n  expected |%.*s|\n  found    |%.*s|\n", line, (int)e, expected,
                        (int)a, actual);
            return;
        }
        expected += e + (expected[e] == '\n');
        actual += a + (actual[a] == '\n');
    }
}

void play_golden(struct play *play, const char *name)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const char *mode = getenv("PERMILLE_GOLDEN");
    char path[256];
    snprintf(path, sizeof path, "tests/screen/golden/%s.txt", name);
    pm_text_addf(&text, "%dx%d, cursor at %d,%d\n", play->grid.rows, play->grid.columns,
                 play->grid.cursor_row, play->grid.cursor_column);
    pm_grid_dump_text(&play->grid, &text);
    pm_text_add(&text, "---- roles\n");
    pm_grid_dump_roles(&play->grid, &text);
    assert_true(pm_text_ok(&text));
    if (mode != NULL && strcmp(mode, "write") == 0) {
        FILE *file = fopen(path, "w");
        if (file == NULL)
            fail_msg("%s cannot be written", path);
        assert_true(fwrite(text.data, 1, text.length, file) == text.length);
        assert_int_equal(fclose(file), 0);
    }
    char *expected = read_file(path);
    if (expected == NULL)
        fail_msg("%s is missing; PERMILLE_GOLDEN=write makes it", path);
    if (strcmp(expected, pm_text_get(&text)) != 0) {
        print_error("the screen differs from %s\n", path);
        show_difference(expected, pm_text_get(&text));
        play_fail(play, "the screen is:");
    }
    pm_free(expected);
    pm_text_release(&text);
}

/* SPDX-License-Identifier: MIT */
/* The page: a longer text to read. */
#include "app_inside.h"
#include "copy.h"
#include "speech.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct page_line {
    enum pm_role role;
    int indent;    /* of the rows a long line is continued in */
    size_t offset; /* into the text */
};

struct pm_page {
    struct pm_overlay overlay; /* must be first */
    char *name;                /* its title until it is opened */
    struct page_line *lines;
    size_t count, capacity;
    struct pm_text text; /* all lines, each with its NUL */
    bool failed;
    char closer[PM_KEY_TEXT]; /* character that closes it, or "" */
    int top;                  /* first row shown, counted in wrapped rows; INT_MAX: the end */
    int last;                 /* the last first row, as of the last paint */
    int page;                 /* rows seen then */
};

static struct pm_page *page_of(const struct pm_overlay *overlay)
{
    return (struct pm_page *)(uintptr_t)overlay;
}

static int page_rows(const struct pm_overlay *overlay, int most, int columns)
{
    (void)columns;
    (void)overlay;
    return most;
}

/* Walks all lines as wrapped at this width and paints rows top.. into the pane (which may be NULL).
 * Returns how many rows there are. */
static int walk(const struct pm_page *page, int cells, int top, const struct pm_pane *pane)
{
    int row = 0;
    for (size_t i = 0; i < page->count; i++) {
        const struct page_line *line = &page->lines[i];
        const char *text = page->text.data + line->offset;
        int indent = 0;
        do {
            size_t next;
            int room = cells - indent > 8 ? cells - indent : 8;
            size_t length = pm_wrap_next(text, room, &next);
            if (pane != NULL && row >= top && row < top + pane->rows) {
                /* A part of a string can only be painted as a copy. */
                char shown[1024];
                snprintf(shown, sizeof shown, "%.*s", (int)length, text);
                pm_pane_put(pane, row - top, indent, line->role, shown);
            }
            row++;
            text += next;
            indent = line->indent;
        } while (*text);
    }
    return row;
}

static const char *line_text(const void *context, size_t line)
{
    const struct pm_page *page = context;
    return page->text.data + page->lines[line].offset;
}

static void page_draw(struct pm_overlay *overlay, const struct pm_pane *pane)
{
    struct pm_page *page = page_of(overlay);
    if (pane->grid->copy != NULL)
        pm_copy_page(pane->grid->copy, page->count, line_text, page);
    for (size_t i = 0; pane->grid->speech != NULL && i < page->count; i++)
        pm_speech_line(pane->grid->speech, "%s", line_text(page, i));
    struct pm_pane text = pm_pane_part(pane, 0, 0, pane->rows - 1, pane->columns);
    int rows = walk(page, text.columns, 0, NULL);
    int last_top = rows > text.rows ? rows - text.rows : 0;
    if (page->top > last_top)
        page->top = last_top;
    page->last = last_top;
    page->page = text.rows;
    walk(page, text.columns, page->top, &text);
    int end = page->top + text.rows < rows ? page->top + text.rows : rows;
    char where[64];
    snprintf(where, sizeof where, "%d-%d of %d%s", rows ? page->top + 1 : 0, end, rows,
             end < rows ? ", more below" : "");
    pm_pane_put_right(pane, pane->rows - 1, 0, pane->columns, PM_ROLE_FAINT, where);
    pm_pane_cursor(&text, 0, 0);
}

/* Moves on or back, not beyond the ends: keys may come faster than paints. */
static void page_move(struct pm_page *page, int step)
{
    if (page->top > page->last)
        page->top = page->last;
    if (step > page->last - page->top)
        page->top = page->last;
    else
        page->top = page->top + step > 0 ? page->top + step : 0;
}

static unsigned page_act(struct pm_overlay *overlay, const struct pm_action *action)
{
    struct pm_page *page = page_of(overlay);
    int step = page->page > 1 ? page->page - 1 : 1;
    switch (action->code) {
    case PM_ACT_ACCEPT:
    case PM_ACT_CANCEL:
        pm_overlay_close(overlay);
        return PM_REDRAW;
    case PM_ACT_UP:
        page_move(page, -1);
        break;
    case PM_ACT_DOWN:
        page_move(page, 1);
        break;
    case PM_ACT_PAGE_UP:
        page_move(page, -step);
        break;
    case PM_ACT_PAGE_DOWN:
        page_move(page, step);
        break;
    case PM_ACT_FIRST:
        page->top = 0;
        break;
    case PM_ACT_LAST:
        page->top = INT_MAX;
        break;
    default:
        return PM_UNHANDLED;
    }
    return PM_REDRAW;
}

static unsigned page_text(struct pm_overlay *overlay, const char *text)
{
    static const struct pm_action down = {.code = PM_ACT_PAGE_DOWN};
    if (strcmp(text, page_of(overlay)->closer) == 0) {
        pm_overlay_close(overlay);
        return PM_REDRAW;
    }
    return strcmp(text, " ") == 0 ? page_act(overlay, &down) : PM_UNHANDLED;
}

static void page_free(struct pm_overlay *overlay)
{
    struct pm_page *page = page_of(overlay);
    pm_free(page->name);
    pm_free(page->lines);
    pm_text_release(&page->text);
    pm_free(page);
}

static const struct pm_overlay_kind page_kind = {
    .mode = PM_MODE_PAGE,
    .rows = page_rows,
    .draw = page_draw,
    .act = page_act,
    .text = page_text,
    .free = page_free,
    .hints = "back page-down page-up",
};

void pm_page_close_by(struct pm_page *page, const char *key)
{
    if (page != NULL)
        snprintf(page->closer, sizeof page->closer, "%s", key);
}

struct pm_page *pm_page_new(const char *title)
{
    struct pm_page *page = pm_alloc_array(1, sizeof *page);
    if (page == NULL)
        return NULL;
    page->overlay.kind = &page_kind;
    page->name = pm_strdup(title);
    page->failed = page->name == NULL;
    return page;
}

void pm_page_add(struct pm_page *page, enum pm_role role, int indent, const char *text)
{
    if (page == NULL || page->failed)
        return;
    bool grown = pm_grow(&page->lines, &page->capacity, page->count + 1, sizeof *page->lines);
    size_t offset = page->text.length;
    pm_text_add(&page->text, text);
    pm_text_add_char(&page->text, '\0');
    page->failed = !grown || !pm_text_ok(&page->text);
    if (!page->failed)
        page->lines[page->count++] = (struct page_line){role, indent, offset};
}

void pm_page_addf(struct pm_page *page, enum pm_role role, int indent, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    if (page != NULL && !pm_text_ok(&text))
        page->failed = true;
    pm_page_add(page, role, indent, pm_text_get(&text));
    pm_text_release(&text);
}

void pm_page_add_lines(struct pm_page *page, enum pm_role role, int indent, const char *text)
{
    while (*text != '\0') {
        const size_t length = strcspn(text, "\n");
        pm_page_addf(page, role, indent, "%.*s", (int)length, text);
        text += length + (text[length] != '\0');
    }
}

bool pm_page_open(struct pm_app *app, struct pm_page *page, bool at_end)
{
    if (page == NULL || page->failed)
        return pm_overlay_failed(app, page != NULL ? &page->overlay : NULL);
    page->top = at_end ? INT_MAX : 0;
    page->last = INT_MAX;
    pm_overlay_push(app, &page->overlay, page->name);
    return true;
}

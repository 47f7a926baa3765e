/* SPDX-License-Identifier: MIT */
/*
 * Tables of the shelf in other forms than CSV: what the CSV says, as JSON, Markdown or HTML.
 */
#include "documents.h"
#include "page.h"

#include "permille/base/csv.h"
#include "permille/base/json.h"
#include "permille/studio/shelf.h"

#include <string.h>

/* ---- JSON ---- */

/* One object per row: every value as the CSV has it, so no digit is lost; null where it is empty.
 */
static enum pm_status json_rows(struct pm_json *json, struct pm_csv *head, struct pm_csv *csv,
                                struct pm_error *err)
{
    bool more = true;
    enum pm_status status = PM_OK;
    while ((status = pm_csv_next(csv, &more, err)) == PM_OK && more) {
        pm_json_open(json, '{');
        for (size_t i = 0; i < head->count && i < csv->count; i++)
            pm_json_put_string(json, head->fields[i],
                               csv->fields[i][0] != '\0' ? csv->fields[i] : NULL);
        pm_json_close(json, '}');
    }
    return status;
}

/* ---- pages ---- */

/* Columns in which something stands: most of what could be said of a material nobody said. */
struct used {
    size_t at[PM_PAGE_COLUMNS_MAX];
    struct pm_page_column columns[PM_PAGE_COLUMNS_MAX];
    size_t count, rows;
};

static enum pm_status find_used(const struct pm_csv *head, struct pm_csv *csv, struct used *used,
                                struct pm_error *err)
{
    bool any[PM_PAGE_COLUMNS_MAX] = {false}, more = true;
    enum pm_status status;
    while ((status = pm_csv_next(csv, &more, err)) == PM_OK && more) {
        used->rows++;
        for (size_t i = 0; i < csv->count && i < PM_PAGE_COLUMNS_MAX; i++)
            any[i] = any[i] || csv->fields[i][0] != '\0';
    }
    for (size_t i = 0; i < head->count && i < PM_PAGE_COLUMNS_MAX; i++)
        if (any[i]) {
            used->columns[used->count].title = head->fields[i];
            used->at[used->count++] = i;
        }
    return status;
}

static enum pm_status page_rows(struct pm_page *page, struct pm_csv *csv, const struct used *used,
                                struct pm_error *err)
{
    const char *cells[PM_PAGE_COLUMNS_MAX];
    bool more = true;
    enum pm_status status;
    pm_page_table(page, used->columns, used->count);
    while ((status = pm_csv_next(csv, &more, err)) == PM_OK && more) {
        for (size_t i = 0; i < used->count; i++)
            cells[i] = used->at[i] < csv->count ? csv->fields[used->at[i]] : "";
        pm_page_row(page, cells);
    }
    pm_page_table_end(page);
    return status;
}

/* ---- one table ---- */

/* A reader that stands behind the header. */
static enum pm_status open_csv(struct pm_csv *csv, const struct pm_text *text, struct pm_error *err)
{
    bool more;
    pm_csv_init(csv, pm_text_get(text), text->length);
    return pm_csv_next(csv, &more, err);
}

struct sink {
    enum pm_paper paper;
    struct pm_json json;
    struct pm_page page;
};

static enum pm_status put_table(struct sink *sink, const char *what, const struct pm_text *text,
                                struct pm_error *err)
{
    struct pm_csv head, csv, again;
    struct used used = {.count = 0};
    enum pm_status status = open_csv(&head, text, err);
    if (open_csv(&csv, text, err) != PM_OK || open_csv(&again, text, err) != PM_OK)
        status = pm_fail_memory(err);
    if (status == PM_OK && sink->paper == PM_PAPER_JSON) {
        pm_json_put_open(&sink->json, what, '[');
        status = json_rows(&sink->json, &head, &csv, err);
        pm_json_close(&sink->json, ']');
    } else if (status == PM_OK) {
        pm_page_heading(&sink->page, 1, what);
        status = find_used(&head, &csv, &used, err);
        if (status == PM_OK && used.rows == 0)
            pm_page_say(&sink->page, "None.");
        else if (status == PM_OK)
            status = page_rows(&sink->page, &again, &used, err);
    }
    pm_csv_release(&head);
    pm_csv_release(&csv);
    pm_csv_release(&again);
    return status;
}

/* ---- the shelf ---- */

static enum pm_status put_tables(struct pm_studio *studio, const char *const *tables, size_t count,
                                 struct sink *sink, char sign, struct pm_text *out,
                                 struct pm_error *err)
{
    struct pm_text texts[3] = {PM_TEXT_EMPTY, PM_TEXT_EMPTY, PM_TEXT_EMPTY};
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = pm_shelf_export(studio, tables[i], &texts[i], err);
    if (sink->paper == PM_PAPER_JSON) {
        pm_json_init(&sink->json, out);
        pm_json_open(&sink->json, '{');
        pm_document_head(&sink->json, "shelf");
    } else {
        pm_page_begin(&sink->page, out, sink->paper, sign, "The shelf");
    }
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = put_table(sink, tables[i], &texts[i], err);
    if (sink->paper == PM_PAPER_JSON) {
        pm_json_close(&sink->json, '}');
        pm_text_add_char(out, '\n');
    } else {
        const enum pm_status ended = pm_page_end(&sink->page, status == PM_OK ? err : NULL);
        status = status == PM_OK ? ended : status;
    }
    for (size_t i = 0; i < 3; i++)
        pm_text_release(&texts[i]);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

enum pm_status pm_shelf_paper(struct pm_studio *studio, const char *what, enum pm_paper paper,
                              char sign, struct pm_text *out, struct pm_error *err)
{
    static const char *const all[] = {"materials", "bottles", "movements"};
    struct sink sink = {.paper = paper};
    const bool one = strcmp(what, "shelf") != 0;
    if (paper == PM_PAPER_CSV && !one)
        return pm_fail(err, PM_INVALID,
                       "CSV holds one table: take materials, bottles and movements one by one.");
    if (paper == PM_PAPER_CSV)
        return pm_shelf_export(studio, what, out, err);
    return put_tables(studio, one ? &what : all, one ? 1 : 3, &sink, sign, out, err);
}

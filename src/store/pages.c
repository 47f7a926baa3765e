/* SPDX-License-Identifier: MIT */
/*
 * Reading rows without SQLite (see pages.h).
 */
#include "pages.h"
#include "files.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LEAST = 512, MOST = 65536, HEADER = 100 };
/* First byte of a page. */
enum { INDEX_INTERIOR = 2, TABLE_INTERIOR = 5, INDEX_LEAF = 10, TABLE_LEAF = 13 };

struct pm_row_space {
    struct pm_text payload; /* of a row that goes on in other pages */
    unsigned char rest[MOST];
};

/* ---- bytes ---- */

static uint32_t two(const unsigned char *at)
{
    return (uint32_t)at[0] << 8 | at[1];
}

static uint32_t four(const unsigned char *at)
{
    return two(at) << 16 | two(at + 2);
}

/* A number of 1 to 9 bytes; false when it does not end within `room`. */
static bool varint(const unsigned char **at, const unsigned char *end, uint64_t *out)
{
    uint64_t value = 0;
    for (int i = 0; i < 9; i++) {
        if (*at >= end)
            return false;
        const unsigned char byte = *(*at)++;
        if (i == 8) {
            *out = value << 8 | byte;
            return true;
        }
        value = value << 7 | (byte & 0x7F);
        if ((byte & 0x80) == 0)
            break;
    }
    *out = value;
    return true;
}

static int64_t signed_of(const unsigned char *at, size_t bytes)
{
    uint64_t value = bytes > 0 && (at[0] & 0x80) != 0 ? UINT64_MAX : 0;
    for (size_t i = 0; i < bytes; i++)
        value = value << 8 | at[i];
    return (int64_t)value;
}

/* ---- pages ---- */

/* False: the disk does not give it. What is missing at the end of the file reads as zero. */
static bool load(const struct pm_pages *pages, uint32_t number, unsigned char *into)
{
    size_t done = 0;
    memset(into, 0, pages->size);
    while (done < pages->size) {
        const off_t at = (off_t)(number - 1) * (off_t)pages->size + (off_t)done;
        const ssize_t got = pread(pages->file, into + done, pages->size - done, at);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return false;
        if (got == 0)
            break;
        done += (size_t)got;
    }
    return true;
}

struct cells {
    int kind; /* 0: this is no page of rows */
    size_t count;
    const unsigned char *pointers;
};

/* The page's list of cells, when its header is one. */
static struct cells cells_of(const unsigned char *page, size_t size, bool first)
{
    const struct cells none = {0};
    const unsigned char *head = page + (first ? HEADER : 0);
    const int kind = head[0];
    if (kind != INDEX_INTERIOR && kind != TABLE_INTERIOR && kind != INDEX_LEAF &&
        kind != TABLE_LEAF)
        return none;
    const bool interior = kind == INDEX_INTERIOR || kind == TABLE_INTERIOR;
    const size_t count = two(head + 3), content = two(head + 5) == 0 ? 65536 : two(head + 5);
    const unsigned char *pointers = head + (interior ? 12 : 8);
    const size_t listed = (size_t)(pointers - page) + 2 * count;
    if (listed > size || content > size || content < listed || head[7] > 60)
        return none;
    return (struct cells){.kind = kind, .count = count, .pointers = pointers};
}

static bool is_zero(const unsigned char *page, size_t size)
{
    return page[0] == 0 && memcmp(page, page + 1, size - 1) == 0;
}

/* A page that lists pages out of use. */
static bool is_free_list(const struct pm_pages *pages, const unsigned char *page)
{
    const size_t count = four(page + 4);
    if (four(page) > pages->count || count > pages->size / 4 - 2)
        return false;
    for (size_t i = 0; i < count; i++)
        if (four(page + 8 + 4 * i) < 2 || four(page + 8 + 4 * i) > pages->count)
            return false;
    return true;
}

/* ---- rows ---- */

static bool read_value(uint64_t type, const unsigned char *at, struct pm_found_value *out)
{
    static const size_t widths[] = {0, 1, 2, 3, 4, 6, 8};
    *out = (struct pm_found_value){.kind = PM_FOUND_NULL};
    if (type == 0)
        return true;
    if (type <= 6 || type == 8 || type == 9) {
        out->kind = PM_FOUND_INTEGER;
        out->number = type >= 8 ? (int64_t)type - 8 : signed_of(at, widths[type]);
    } else if (type == 7) {
        const int64_t bits = signed_of(at, 8);
        out->kind = PM_FOUND_REAL;
        memcpy(&out->real, &bits, sizeof bits);
    } else if (type >= 12) {
        out->kind = type % 2 == 0 ? PM_FOUND_BLOB : PM_FOUND_TEXT;
        out->data = at;
        out->length = (size_t)(type - (type % 2 == 0 ? 12 : 13)) / 2;
    }
    return type != 10 && type != 11;
}

static uint64_t width_of(uint64_t type)
{
    static const uint64_t widths[] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0, 0, 0};
    return type < 12 ? widths[type] : (type - (type % 2 == 0 ? 12 : 13)) / 2;
}

/* A record must fill its payload exactly: the first thing that rubbish does not. */
static bool read_record(const unsigned char *data, size_t length, struct pm_found_row *row)
{
    const unsigned char *at = data, *end = data + length;
    uint64_t head, type;
    if (!varint(&at, end, &head) || head > length)
        return false;
    const unsigned char *body = data + head;
    row->count = 0;
    while (at < data + head) {
        if (row->count == PM_PAGES_COLUMNS || !varint(&at, data + head, &type) ||
            width_of(type) > (uint64_t)(end - body) ||
            !read_value(type, body, &row->values[row->count]))
            return false;
        body += width_of(type);
        row->count++;
    }
    return body == end && row->count > 0;
}

/* The payload of a cell in one piece; what does not lie in the page is fetched from the others. */
static const unsigned char *gather(struct pm_pages *pages, const unsigned char *at,
                                   const unsigned char *end, bool of_table, uint64_t length)
{
    const size_t usable = pages->size;
    const size_t most = of_table ? usable - 35 : (usable - 12) * 64 / 255 - 23;
    const size_t least = (usable - 12) * 32 / 255 - 23;
    struct pm_text *payload = &pages->space->payload;

    if (length <= most)
        return length <= (uint64_t)(end - at) ? at : NULL;
    if (length > (uint64_t)pages->count * usable)
        return NULL;
    const size_t wished = least + (size_t)(length - least) % (usable - 4);
    const size_t local = wished <= most ? wished : least;
    if (local + 4 > (size_t)(end - at))
        return NULL;
    pm_text_clear(payload);
    pm_text_add_bytes(payload, (const char *)at, local);
    uint32_t next = four(at + local);
    while (payload->length < length && !payload->failed) {
        if (next < 2 || next > pages->count || !load(pages, next, pages->space->rest))
            return NULL;
        const size_t left = (size_t)length - payload->length;
        pages->used[next] = 1;
        pm_text_add_bytes(payload, (const char *)pages->space->rest + 4,
                          left < usable - 4 ? left : usable - 4);
        next = four(pages->space->rest);
    }
    return (const unsigned char *)pm_text_get(payload);
}

static bool read_cell(struct pm_pages *pages, const struct cells *cells, size_t i,
                      struct pm_found_row *row)
{
    const size_t place = two(cells->pointers + 2 * i);
    const unsigned char *at = pages->page + place, *end = pages->page + pages->size;
    uint64_t length, rowid = 0;

    row->has_rowid = cells->kind == TABLE_LEAF;
    if (place >= pages->size)
        return false;
    if (cells->kind == INDEX_INTERIOR)
        at += 4;
    if (at >= end || !varint(&at, end, &length) || (row->has_rowid && !varint(&at, end, &rowid)))
        return false;
    row->rowid = (int64_t)rowid;
    const unsigned char *payload = gather(pages, at, end, row->has_rowid, length);
    return payload != NULL && read_record(payload, (size_t)length, row);
}

static enum pm_status read_page(struct pm_pages *pages, uint32_t number, const struct cells *cells,
                                pm_found_visit *visit, void *context, struct pm_error *err)
{
    struct pm_found_row row = {.page = number};
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < cells->count; i++) {
        if (!read_cell(pages, cells, i, &row))
            row.count = 0;
        status = pages->space->payload.failed ? pm_fail_memory(err) : visit(context, &row, err);
    }
    return status;
}

enum pm_status pm_pages_each(struct pm_pages *pages, pm_found_visit *visit, void *context,
                             int64_t *lost, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    *lost = 0;
    for (uint32_t number = 1; status == PM_OK && number <= pages->count; number++) {
        struct cells found = {0};
        if (load(pages, number, pages->page))
            found = cells_of(pages->page, pages->size, number == 1);
        if (found.kind != 0 && found.kind != TABLE_INTERIOR)
            status = read_page(pages, number, &found, visit, context, err);
        else if (found.kind == 0 && number > 1 && pages->used[number] == 0)
            pages->used[number] = 2; /* perhaps the rest of a row that comes later */
    }
    for (uint32_t number = 1; status == PM_OK && number <= pages->count; number++)
        if (pages->used[number] == 2) {
            const bool there = load(pages, number, pages->page);
            *lost +=
                !there || (!is_zero(pages->page, pages->size) && !is_free_list(pages, pages->page));
            pages->used[number] = 0;
        }
    return status;
}

/* ---- open and close ---- */

/* How many pages look like pages of rows when they are of that size. */
static int64_t plausible(struct pm_pages *pages, int64_t length, size_t size)
{
    int64_t count = 0;
    pages->size = size;
    for (int64_t at = 0; at < length; at += (int64_t)size)
        if (load(pages, (uint32_t)(at / (int64_t)size + 1), pages->page))
            count += cells_of(pages->page, size, at == 0).kind != 0;
    return count;
}

/* SQLite makes pages of 4096 bytes when nobody says otherwise; another size must look better. */
static bool find_size(struct pm_pages *pages, int64_t length)
{
    size_t best = 4096;
    int64_t most = plausible(pages, length, best);
    for (size_t size = LEAST; size <= MOST; size *= 2) {
        const int64_t count = size == 4096 ? 0 : plausible(pages, length, size);
        if (count > most) {
            most = count;
            best = size;
        }
    }
    pages->size = best;
    return most > 0;
}

static enum pm_status look(struct pm_pages *pages, const char *path, struct pm_error *err)
{
    struct stat seen;
    pages->file = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (pages->file < 0)
        return pm_file_fail(errno, "Cannot read", path, err);
    if (fstat(pages->file, &seen) != 0)
        return pm_file_fail(errno, "Cannot read", path, err);
    pages->page = pm_alloc(MOST);
    pages->space = pm_alloc_array(1, sizeof *pages->space);
    if (pages->page == NULL || pages->space == NULL)
        return pm_fail_memory(err);
    if (!S_ISREG(seen.st_mode) || !find_size(pages, seen.st_size))
        return pm_fail(err, PM_FOREIGN, "%s holds no rows of a library of this program.", path);
    const int64_t count = (seen.st_size + (int64_t)pages->size - 1) / (int64_t)pages->size;
    if (count >= INT32_MAX)
        return pm_fail(err, PM_FOREIGN, "%s is too large for a library.", path);
    pages->count = (uint32_t)count;
    pages->used = pm_alloc_array((size_t)count + 1, 1);
    if (pages->used == NULL)
        return pm_fail_memory(err);
    if (load(pages, 1, pages->page))
        pages->version = (int64_t)four(pages->page + 60);
    return PM_OK;
}

enum pm_status pm_pages_open(const char *path, struct pm_pages *out, struct pm_error *err)
{
    *out = (struct pm_pages){.file = -1};
    const enum pm_status status = look(out, path, err);
    if (status != PM_OK)
        pm_pages_close(out);
    return status;
}

void pm_pages_close(struct pm_pages *pages)
{
    if (pages->file >= 0)
        close(pages->file);
    if (pages->space != NULL)
        pm_text_release(&pages->space->payload);
    pm_free(pages->space);
    pm_free(pages->page);
    pm_free(pages->used);
    *pages = (struct pm_pages){.file = -1};
}

/* SPDX-License-Identifier: MIT */
/*
 * Searching materials while a person types.
 *
 * Whatever is typed, every keystroke may have to look at every name: "e" stands in nearly all of
 * them, "zq" in none, and only having looked says so. An index of letter groups helps with some
 * texts and not with others, so the search goes straight through all folded names instead, but
 * not row by row: table material_search holds them 32 materials to a row, and a row is scanned
 * with memmem, which looks at memory as fast as it comes. 100,000 materials are some 3,000 rows.
 * search_blocks.h says how a row is written.
 */
#include "permille/store/materials.h"
#include "search_blocks.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/core/lookalike.h"

#include <stdlib.h>
#include <string.h>

#define FEW 4000 /* so many materials are read one by one sooner than found among all */

/* ---- matching ---- */

/* The text split at its spaces; views into one folded string. */
struct word {
    const char *text;
    size_t length;
};

struct wanted {
    char *folded; /* owned */
    size_t length;
    struct word *words; /* owned; the longest first: it rules out most */
    size_t count;
    bool set_aside_too;
    const struct pm_material_ids *among; /* or NULL */
};

static int compare_ids(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static bool is_wanted(const struct wanted *wanted, int64_t id)
{
    const struct pm_material_ids *among = wanted->among;
    return among == NULL || (among->count > 0 && bsearch(&id, among->items, among->count, sizeof id,
                                                         compare_ids) != NULL);
}

/* In order of worth; only prefixes of names are RANK_NAME. */
enum { RANK_NAME, RANK_WORD, RANK_REST, RANK_NONE };

/* A hit that is so far among the best. */
struct found {
    int64_t id;
    int rank;
    int field; /* 0: the name matched; n: the n-th synonym; CAS_FIELD */
    int slips;
    char *name; /* folded; owned, reused */
    size_t name_length, name_capacity;
};

enum { CAS_FIELD = -1 };

/* The best hits: a heap with the worst one on top until the scan ends. */
struct best {
    struct found *items; /* owned */
    size_t count, capacity, limit;
};

static void release_best(struct best *best)
{
    for (size_t i = 0; i < best->capacity && best->items != NULL; i++)
        pm_free(best->items[i].name);
    pm_free(best->items);
}

static int longer_first(const void *a, const void *b)
{
    size_t left = ((const struct word *)a)->length;
    size_t right = ((const struct word *)b)->length;
    return (left < right) - (left > right);
}

static bool has_word(const struct wanted *wanted, const char *text, size_t length)
{
    for (size_t i = 0; i < wanted->count; i++)
        if (wanted->words[i].length == length && memcmp(wanted->words[i].text, text, length) == 0)
            return true;
    return false;
}

static enum pm_status split(const char *text, struct wanted *out, struct pm_error *err)
{
    out->folded = pm_fold(text + strspn(text, " "));
    out->length = out->folded == NULL ? 0 : strlen(out->folded);
    while (out->length > 0 && out->folded[out->length - 1] == ' ')
        out->folded[--out->length] = '\0';
    out->words = pm_alloc_array(out->length / 2 + 1, sizeof *out->words);
    out->count = 0;
    if (out->folded == NULL || out->words == NULL)
        return pm_fail_memory(err);
    for (const char *at = out->folded; *at != '\0';) {
        size_t length = strcspn(at, " ");
        if (length > 0 && !has_word(out, at, length)) {
            out->words[out->count].text = at;
            out->words[out->count].length = length;
            out->count++;
        }
        at += length;
        at += strspn(at, " ");
    }
    qsort(out->words, out->count, sizeof *out->words, longer_first);
    return PM_OK;
}

static bool letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= '0' && byte <= '9') || (byte & 0x80) != 0;
}

/* How well a word stands in text: at the beginning of a word, within one, not at all. The byte
 * before text may be looked at: a TAB. */
static int rank_word(const char *text, size_t length, const struct word *word)
{
    int rank = RANK_NONE;
    const char *end = text + length;
    for (const char *at = text; at != NULL && at < end; at++) {
        at = memmem(at, (size_t)(end - at), word->text, word->length);
        if (at == NULL)
            break;
        if (!letter(at[-1]) || !letter(word->text[0]))
            return RANK_WORD;
        rank = RANK_REST;
    }
    return rank;
}

/* The worst rank among all words. */
static int rank_words(const char *text, size_t length, const struct wanted *wanted)
{
    int worst = RANK_WORD;
    for (size_t i = 0; i < wanted->count && worst != RANK_NONE; i++) {
        int rank = rank_word(text, length, &wanted->words[i]);
        worst = rank > worst ? rank : worst;
    }
    return worst;
}

/* One entry of a block, taken apart as far as every entry needs it. */
struct entry {
    const char *end;  /* before its LF */
    const char *name; /* folded */
    size_t name_length;
    bool prefix; /* the name begins with the text */
};

/* The field that matched: 0 for the name, n for the n-th synonym, CAS_FIELD; the first that holds
 * every word, else the first that holds a word the name lacks. */
static int find_field(const struct entry *entry, const struct wanted *wanted)
{
    int part = 0, field = 0;
    if (rank_words(entry->name, entry->name_length, wanted) != RANK_NONE)
        return 0;
    for (const char *tab = entry->name + entry->name_length; tab != NULL && tab < entry->end;) {
        const char *at = tab + 1;
        tab = memchr(at, '\t', (size_t)(entry->end - at));
        size_t length = (size_t)((tab == NULL ? entry->end : tab) - at);
        field = tab == NULL ? CAS_FIELD : field + 1;
        if (rank_words(at, length, wanted) != RANK_NONE)
            return field;
        for (size_t i = 0; part == 0 && i < wanted->count; i++)
            if (rank_word(entry->name, entry->name_length, &wanted->words[i]) == RANK_NONE &&
                rank_word(at, length, &wanted->words[i]) != RANK_NONE)
                part = field;
    }
    return part;
}

/* ---- keeping the best ---- */

static int compare_found(const struct found *a, const struct found *b)
{
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    int order = strcmp(a->name, b->name);
    return order != 0 ? order : (a->id > b->id) - (a->id < b->id);
}

static int sort_found(const void *a, const void *b)
{
    return compare_found(a, b);
}

static void swap(struct found *a, struct found *b)
{
    struct found kept = *a;
    *a = *b;
    *b = kept;
}

static void sift_up(struct best *best)
{
    for (size_t i = best->count - 1; i > 0;) {
        size_t parent = (i - 1) / 2;
        if (compare_found(&best->items[i], &best->items[parent]) <= 0)
            break;
        swap(&best->items[i], &best->items[parent]);
        i = parent;
    }
}

static void sift_down(struct best *best)
{
    for (size_t i = 0;;) {
        size_t largest = i;
        for (size_t child = 2 * i + 1; child <= 2 * i + 2 && child < best->count; child++)
            if (compare_found(&best->items[child], &best->items[largest]) > 0)
                largest = child;
        if (largest == i)
            return;
        swap(&best->items[i], &best->items[largest]);
        i = largest;
    }
}

static bool set_found(struct found *item, const struct found *hit, const struct entry *entry)
{
    if (!pm_grow(&item->name, &item->name_capacity, entry->name_length + 1, 1))
        return false;
    memcpy(item->name, entry->name, entry->name_length);
    item->name[entry->name_length] = '\0';
    item->name_length = entry->name_length;
    item->id = hit->id;
    item->rank = hit->rank;
    item->field = hit->field;
    item->slips = hit->slips;
    return true;
}

/* Whether the entry comes before the worst of the best, were it of this rank. */
static bool better(const struct best *best, int rank, const struct entry *entry, int64_t id)
{
    if (best->count < best->limit)
        return true;
    const struct found *worst = &best->items[0];
    if (rank != worst->rank)
        return rank < worst->rank;
    size_t shorter =
        entry->name_length < worst->name_length ? entry->name_length : worst->name_length;
    int order = memcmp(entry->name, worst->name, shorter);
    if (order == 0) {
        order =
            (entry->name_length > worst->name_length) - (entry->name_length < worst->name_length);
    }
    return order != 0 ? order < 0 : id < worst->id;
}

/* False when memory ran out. */
static bool keep(struct best *best, const struct found *hit, const struct entry *entry)
{
    if (best->count == best->limit) {
        if (!set_found(&best->items[0], hit, entry))
            return false;
        sift_down(best);
        return true;
    }
    size_t old = best->capacity;
    if (!pm_grow(&best->items, &best->capacity, best->count + 1, sizeof *best->items))
        return false;
    memset(best->items + old, 0, (best->capacity - old) * sizeof *best->items);
    if (!set_found(&best->items[best->count], hit, entry))
        return false;
    best->count++;
    sift_up(best);
    return true;
}

/* ---- scanning ---- */

/* Looks at one entry that holds the first word somewhere. False when memory ran out. */
static bool look_at(const char *text, size_t length, int64_t block, const struct wanted *wanted,
                    struct best *best)
{
    const unsigned char *head = (const unsigned char *)text;
    if (length <= PM_HEAD || (head[2] != PM_HEAD_BYTE && !wanted->set_aside_too))
        return true;
    struct found hit = {.id = block * PM_BLOCK + (head[0] - PM_HEAD_BYTE) * 8 +
                              (head[1] - PM_HEAD_BYTE)};
    struct entry entry = {.end = text + length, .name = text + PM_HEAD};
    const char *tab = memchr(entry.name, '\t', length - PM_HEAD);
    entry.name_length = (size_t)((tab == NULL ? entry.end : tab) - entry.name);
    entry.prefix = entry.name_length >= wanted->length &&
                   memcmp(entry.name, wanted->folded, wanted->length) == 0;
    /* Most entries fall here once enough good ones are known: their name alone says that even the
     * better rank would not help. */
    if (!better(best, entry.prefix ? RANK_NAME : RANK_WORD, &entry, hit.id) ||
        !is_wanted(wanted, hit.id))
        return true;
    hit.rank = rank_words(entry.name, (size_t)(entry.end - entry.name), wanted);
    if (hit.rank == RANK_NONE)
        return true;
    hit.rank = entry.prefix ? RANK_NAME : hit.rank;
    if (!better(best, hit.rank, &entry, hit.id))
        return true;
    hit.field = find_field(&entry, wanted);
    return keep(best, &hit, &entry);
}

/* False when memory ran out. */
static bool scan_block(int64_t block, const char *entries, size_t length,
                       const struct wanted *wanted, struct best *best)
{
    const char *end = entries + length;
    const char *start = entries; /* of the entry that holds `at` or comes before it */
    while (start < end) {
        const char *at =
            memmem(start, (size_t)(end - start), wanted->words[0].text, wanted->words[0].length);
        if (at == NULL)
            return true;
        const char *before = memrchr(start, '\n', (size_t)(at - start));
        const char *entry = before == NULL ? start : before + 1;
        const char *after = memchr(at, '\n', (size_t)(end - at));
        const char *stop = after == NULL ? end : after;
        if (!look_at(entry, (size_t)(stop - entry), block, wanted, best))
            return false;
        start = stop + 1;
    }
    return true;
}

static enum pm_status scan(struct pm_library *library, const struct wanted *wanted,
                           struct best *best, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SEARCH_BLOCKS);
    while (pm_query_row(&query)) {
        const char *entries = sqlite3_column_blob(query.statement, 1);
        size_t length = (size_t)sqlite3_column_bytes(query.statement, 1);
        if (entries != NULL &&
            !scan_block(pm_query_get_int(&query, 0), entries, length, wanted, best))
            query.rc = SQLITE_NOMEM;
    }
    return pm_query_close(&query, err);
}

/* ---- giving out ---- */

/* Columns from `first` on: name, CAS number, family, kind. NULL when memory ran out. */
static struct pm_material_entry *give_row(struct pm_query *query, int first, int64_t id,
                                          struct pm_material_entries *out)
{
    enum pm_material_kind kind;
    const char *word = pm_query_get_text(query, first + 3);
    if (word == NULL || !pm_material_kind_from_word(word, &kind))
        return NULL; /* no kind of this program's */
    struct pm_material_entry *entry = pm_query_add(query, out);
    if (entry == NULL)
        return NULL;
    entry->id = id;
    entry->name = pm_query_get_kept(query, first, &out->arena);
    entry->cas = pm_query_get_kept(query, first + 1, &out->arena);
    entry->family = pm_query_get_kept(query, first + 2, &out->arena);
    entry->kind = pm_material_kind_word(kind);
    entry->is_solvent = kind == PM_SOLVENT;
    return entry;
}

/* The best in order, by one query, unless looking for them failed; frees them. */
static enum pm_status give_best(struct pm_library *library, struct best *best,
                                enum pm_status status, struct pm_material_entries *out,
                                struct pm_error *err)
{
    struct pm_query query;
    struct pm_text wanted = PM_TEXT_EMPTY;
    if (status == PM_OK && best->count > 0)
        qsort(best->items, best->count, sizeof *best->items, sort_found);
    pm_text_add(&wanted, "[");
    for (size_t i = 0; i < best->count; i++) {
        const struct found *found = &best->items[i];
        pm_text_addf(&wanted, "%s[%lld,%d]", i > 0 ? "," : "", (long long)found->id,
                     found->field > 0 ? found->field : -1);
    }
    pm_text_add(&wanted, "]");
    if (status == PM_OK && !pm_text_ok(&wanted))
        status = pm_fail_memory(err);
    if (status == PM_OK && best->count > 0) {
        pm_query_open(&query, library, PM_SQL_SEARCH_HITS);
        pm_query_text(&query, pm_text_get(&wanted));
        while (pm_query_row(&query)) {
            const struct found *found = &best->items[pm_query_get_int(&query, 0)];
            struct pm_material_entry *entry = give_row(&query, 1, found->id, out);
            if (entry == NULL)
                continue;
            entry->slips = found->slips;
            entry->matched =
                found->field == CAS_FIELD ? entry->cas : pm_query_get_kept(&query, 5, &out->arena);
        }
        status = pm_query_close(&query, err);
    }
    pm_text_release(&wanted);
    release_best(best);
    return status;
}

/* Materials whose name begins with the text, in order of name: the index alone finds them. Counts
 * them; gives them only when `out` is given. */
static enum pm_status walk_prefix(struct pm_library *library, const struct wanted *wanted,
                                  size_t limit, struct pm_material_entries *out, size_t *count,
                                  struct pm_error *err)
{
    struct pm_query query;
    const bool all = wanted->among == NULL;
    pm_query_open(&query, library, PM_SQL_SEARCH_PREFIX);
    pm_query_text(&query, wanted->folded);
    pm_query_int(&query, wanted->set_aside_too);
    pm_query_int(&query, !all || limit > INT64_MAX ? INT64_MAX : (int64_t)limit);
    *count = 0;
    while (*count < limit && pm_query_row(&query)) {
        const int64_t id = pm_query_get_int(&query, 0);
        if (!is_wanted(wanted, id))
            continue;
        (*count)++;
        if (out != NULL)
            give_row(&query, 1, id, out);
    }
    return pm_query_close(&query, err);
}

static enum pm_status walk_among(struct pm_library *library, const struct wanted *wanted,
                                 size_t limit, struct pm_material_entries *out,
                                 struct pm_error *err)
{
    struct pm_query query;
    struct pm_text ids = PM_TEXT_EMPTY;
    pm_store_ids(wanted->among->items, wanted->among->count, &ids);
    if (!pm_text_ok(&ids)) {
        pm_text_release(&ids);
        return pm_fail_memory(err);
    }
    pm_query_open(&query, library, PM_SQL_SEARCH_AMONG);
    pm_query_text(&query, pm_text_get(&ids));
    pm_query_int(&query, wanted->set_aside_too);
    pm_query_int(&query, limit > INT64_MAX ? INT64_MAX : (int64_t)limit);
    while (pm_query_row(&query))
        give_row(&query, 1, pm_query_get_int(&query, 0), out);
    const enum pm_status status = pm_query_close(&query, err);
    pm_text_release(&ids);
    return status;
}

static enum pm_status search(struct pm_library *library, const struct wanted *wanted, size_t limit,
                             struct pm_material_entries *out, struct pm_error *err)
{
    size_t count = 0;
    /* Of many enough are met soon in the order of names; of a few perhaps never. */
    if (wanted->count == 0 && wanted->among != NULL && wanted->among->count <= FEW)
        return walk_among(library, wanted, limit, out, err);
    if (wanted->count == 0)
        return walk_prefix(library, wanted, limit, out, &count, err);
    /* One or two letters begin more names than are shown: no need to look at the others. */
    enum pm_status status = walk_prefix(library, wanted, limit, NULL, &count, err);
    if (status != PM_OK)
        return status;
    if (count >= limit)
        return walk_prefix(library, wanted, limit, out, &count, err);
    struct best best = {.limit = limit};
    status = scan(library, wanted, &best, err);
    return give_best(library, &best, status, out, err);
}

enum pm_status pm_material_search(struct pm_library *library, const char *text, size_t limit,
                                  bool set_aside_too, const struct pm_material_ids *among,
                                  struct pm_material_entries *out, struct pm_error *err)
{
    struct wanted wanted = {.set_aside_too = set_aside_too, .among = among};
    struct pm_material_entries found = {0};
    enum pm_status status = split(text, &wanted, err);
    if (status == PM_OK)
        status = pm_search_settle(library, err);
    if (status == PM_OK && limit > 0) {
        status = pm_library_begin_read(library, err);
        if (status == PM_OK) {
            status = search(library, &wanted, limit, &found, err);
            pm_library_end_read(library);
        }
    }
    pm_free(wanted.words);
    pm_free(wanted.folded);
    pm_list_give(&found, status, out);
    return status;
}

/* ---- names that are near, or alike ---- */

/* Judges an entry's fields; true to keep it, with its rank, slips and field filled in. */
typedef bool judge_fn(const void *context, const struct entry *entry, struct found *hit);

static bool judge_block(int64_t block, const char *entries, size_t length, judge_fn *judge,
                        const void *context, struct best *best)
{
    const char *end = entries + length;
    for (const char *at = entries; at < end;) {
        const char *after = memchr(at, '\n', (size_t)(end - at));
        const char *stop = after == NULL ? end : after;
        const unsigned char *head = (const unsigned char *)at;
        struct entry entry = {.end = stop, .name = at + PM_HEAD};
        at = stop + 1;
        if (stop - (const char *)head <= PM_HEAD || head[2] != PM_HEAD_BYTE)
            continue;
        const char *tab = memchr(entry.name, '\t', (size_t)(stop - entry.name));
        entry.name_length = (size_t)((tab == NULL ? stop : tab) - entry.name);
        struct found hit = {.id = block * PM_BLOCK + (head[0] - PM_HEAD_BYTE) * 8 +
                                  (head[1] - PM_HEAD_BYTE)};
        if (judge(context, &entry, &hit) && better(best, hit.rank, &entry, hit.id) &&
            !keep(best, &hit, &entry))
            return false;
    }
    return true;
}

static enum pm_status judge_all(struct pm_library *library, judge_fn *judge, const void *judged,
                                size_t limit, struct pm_material_entries *out, struct pm_error *err)
{
    struct pm_query query;
    struct best best = {.limit = limit};
    struct pm_material_entries found = {0};
    enum pm_status status = pm_search_settle(library, err);
    if (status == PM_OK)
        status = pm_library_begin_read(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_SEARCH_BLOCKS);
    while (pm_query_row(&query)) {
        const char *entries = sqlite3_column_blob(query.statement, 1);
        size_t length = (size_t)sqlite3_column_bytes(query.statement, 1);
        if (entries != NULL &&
            !judge_block(pm_query_get_int(&query, 0), entries, length, judge, judged, &best))
            query.rc = SQLITE_NOMEM;
    }
    status = give_best(library, &best, pm_query_close(&query, err), &found, err);
    pm_library_end_read(library);
    pm_list_give(&found, status, out);
    return status;
}

/* Without the last field, the CAS number: a digit too many in one is another number. Of as many
 * slips a name that begins as what was typed is meant rather than one that holds it further on:
 * people mistype the middle of words. */
static bool is_near(const void *context, const struct entry *entry, struct found *hit)
{
    const char *typed = context;
    const size_t length = strlen(typed);
    const char *at = entry->name;
    bool any = false;
    for (int field = 0; at < entry->end; field++) {
        const char *tab = memchr(at, '\t', (size_t)(entry->end - at));
        if (tab == NULL)
            break;
        const int slips = pm_name_slips(typed, length, at, (size_t)(tab - at));
        const int rank = 2 * slips + (*at != *typed);
        if (slips >= 0 && (!any || rank < hit->rank)) {
            hit->slips = slips;
            hit->rank = rank;
            hit->field = field;
            any = true;
        }
        at = tab + 1;
    }
    return any;
}

enum pm_status pm_material_near(struct pm_library *library, const char *text, size_t limit,
                                struct pm_material_entries *out, struct pm_error *err)
{
    char *folded = pm_fold(text);
    if (folded == NULL)
        return pm_fail_memory(err);
    const enum pm_status status = judge_all(library, is_near, folded, limit, out, err);
    pm_free(folded);
    return status;
}

static bool is_alike(const void *context, const struct entry *entry, struct found *hit)
{
    struct pm_look look;
    if (!pm_look_may_be(context, entry->name, entry->name_length))
        return false;
    pm_look_read(entry->name, entry->name_length, &look);
    hit->rank = 0;
    return pm_look_alike(context, &look);
}

enum pm_status pm_material_alike(struct pm_library *library, const char *name, size_t limit,
                                 struct pm_material_entries *out, struct pm_error *err)
{
    char *folded = pm_fold(name);
    struct pm_look look;
    if (folded == NULL)
        return pm_fail_memory(err);
    pm_look_read(folded, strlen(folded), &look);
    const enum pm_status status = judge_all(library, is_alike, &look, limit, out, err);
    pm_free(folded);
    return status;
}

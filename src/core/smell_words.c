/* SPDX-License-Identifier: MIT */
/*
 * The words of smell notes, counted by stage.
 *
 * Every occurrence is listed, the list sorted, and runs of equal words become one counted word: two
 * sorts instead of an index to keep.
 */
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/core/smell.h"

#include <stdlib.h>
#include <string.h>

#define LETTERS_LEAST 3

struct occurrence {
    enum pm_stage stage;
    size_t offset;    /* in the collected text */
    const char *word; /* the same place, once the text no longer moves */
};

struct collection {
    struct pm_text text; /* the words, each ended by a NUL */
    struct occurrence *items;
    size_t count, capacity;
};

/* Above ASCII nearly everything is a letter; these ranges are not: punctuation, symbols, digits,
 * spaces, private use, emoji. */
static bool is_letter(uint32_t code)
{
    static const struct {
        uint32_t first, last;
    } others[] = {
        {0x80, 0xa9},     {0xab, 0xb4},       {0xb6, 0xb9},        {0xbb, 0xbf},
        {0xd7, 0xd7},     {0xf7, 0xf7},       {0x37e, 0x37e},      {0x387, 0x387},
        {0x55a, 0x55f},   {0x589, 0x58f},     {0x5be, 0x5be},      {0x5c0, 0x5c0},
        {0x5c3, 0x5c3},   {0x5f3, 0x5f4},     {0x600, 0x60f},      {0x61b, 0x61f},
        {0x660, 0x66d},   {0x6d4, 0x6d4},     {0x6f0, 0x6f9},      {0x964, 0x96f},
        {0xe3f, 0xe3f},   {0xe4f, 0xe5b},     {0x1680, 0x1680},    {0x2000, 0x2bff},
        {0x2e00, 0x3004}, {0x3007, 0x3030},   {0x30fb, 0x30fb},    {0xd800, 0xf8ff},
        {0xfe00, 0xfe6f}, {0xfeff, 0xff20},   {0xff3b, 0xff40},    {0xff5b, 0xff65},
        {0xffe0, 0xffff}, {0x1f000, 0x1faff}, {0xe0000, 0x10ffff},
    };

    if (code < 0x80)
        return (code >= 'a' && code <= 'z') || (code >= 'A' && code <= 'Z');
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (code <= others[i].last)
            return code < others[i].first;
    return false;
}

/* Words of English that hold the others together and say nothing of a smell: articles,
 * conjunctions, the commonest prepositions, pronouns, auxiliary verbs. Common practice, no source.
 * What weighs or places an impression stays: "not", "little", "under", "behind". */
static const char *const little[] = {
    "about", "also",   "and",   "are",   "been", "being", "but",   "can",  "could",
    "did",   "does",   "for",   "from",  "had",  "has",   "have",  "her",  "him",
    "his",   "how",    "into",  "its",   "may",  "might", "nor",   "onto", "our",
    "she",   "should", "than",  "that",  "the",  "their", "them",  "then", "there",
    "these", "they",   "this",  "those", "upon", "was",   "were",  "what", "when",
    "where", "which",  "while", "who",   "will", "with",  "would", "you",  "your",
};

static bool is_little(const char *word, size_t length)
{
    for (size_t i = 0; i < sizeof little / sizeof *little; i++)
        if (strlen(little[i]) == length && memcmp(little[i], word, length) == 0)
            return true;
    return false;
}

static bool collect_word(struct collection *all, enum pm_stage stage, const char *word,
                         size_t length)
{
    if (is_little(word, length))
        return true;
    if (!pm_grow(&all->items, &all->capacity, all->count + 1, sizeof *all->items))
        return false;
    all->items[all->count++] = (struct occurrence){stage, all->text.length, NULL};
    pm_text_add_bytes(&all->text, word, length);
    pm_text_add_char(&all->text, '\0');
    return pm_text_ok(&all->text);
}

static bool collect_words(struct collection *all, enum pm_stage stage, const char *text)
{
    size_t length = strlen(text);
    size_t start = 0;
    size_t letters = 0;

    for (size_t at = 0; at <= length;) {
        uint32_t code = 0;
        size_t bytes = at < length ? pm_utf8_decode(text + at, length - at, &code) : 1;
        if (is_letter(code)) {
            letters++;
        } else {
            if (letters >= LETTERS_LEAST && !collect_word(all, stage, text + start, at - start))
                return false;
            letters = 0;
            start = at + bytes;
        }
        at += bytes;
    }
    return true;
}

static bool collect(struct collection *all, const struct pm_smell_note *notes, size_t count,
                    const struct pm_stage_bounds *bounds)
{
    for (size_t i = 0; i < count; i++) {
        if (notes[i].text == NULL)
            continue;
        char *small = pm_small(notes[i].text);
        bool ok = small != NULL && collect_words(all, pm_stage_at(notes[i].since, bounds), small);
        pm_free(small);
        if (!ok)
            return false;
    }
    for (size_t i = 0; i < all->count; i++)
        all->items[i].word = pm_text_get(&all->text) + all->items[i].offset;
    return true;
}

static int by_stage_and_word(const void *left, const void *right)
{
    const struct occurrence *a = left;
    const struct occurrence *b = right;

    return a->stage != b->stage ? (int)a->stage - (int)b->stage : strcmp(a->word, b->word);
}

static int by_frequency(const void *left, const void *right)
{
    const struct pm_word *a = left;
    const struct pm_word *b = right;

    if (a->count != b->count)
        return a->count > b->count ? -1 : 1;
    return strcmp(a->text, b->text);
}

static bool count_words(const struct collection *all, struct pm_words words[PM_STAGES])
{
    size_t capacity[PM_STAGES] = {0};

    for (size_t i = 0; i < all->count; i++) {
        const struct occurrence *found = &all->items[i];
        struct pm_words *list = &words[found->stage];
        if (list->count > 0 && strcmp(list->items[list->count - 1].text, found->word) == 0) {
            list->items[list->count - 1].count++;
            continue;
        }
        void *items = list->items;
        if (!pm_grow(&items, &capacity[found->stage], list->count + 1, sizeof *list->items))
            return false;
        list->items = items;
        char *text = pm_strdup(found->word);
        if (text == NULL)
            return false;
        list->items[list->count++] = (struct pm_word){text, 1};
    }
    for (size_t stage = 0; stage < PM_STAGES; stage++)
        if (words[stage].count > 1)
            qsort(words[stage].items, words[stage].count, sizeof *words[stage].items, by_frequency);
    return true;
}

enum pm_status pm_words_tally(const struct pm_smell_note *notes, size_t count,
                              const struct pm_stage_bounds *bounds, struct pm_words out[PM_STAGES],
                              struct pm_error *err)
{
    struct collection all = {.text = PM_TEXT_EMPTY};
    struct pm_words words[PM_STAGES] = {{NULL, 0}, {NULL, 0}, {NULL, 0}};

    bool ok = collect(&all, notes, count, bounds);
    if (ok) {
        if (all.count > 1)
            qsort(all.items, all.count, sizeof *all.items, by_stage_and_word);
        ok = count_words(&all, words);
    }
    pm_text_release(&all.text);
    pm_free(all.items);
    if (!ok) {
        pm_words_release(words);
        return pm_fail_memory(err);
    }
    memcpy(out, words, sizeof words);
    return PM_OK;
}

void pm_words_release(struct pm_words words[PM_STAGES])
{
    for (size_t stage = 0; stage < PM_STAGES; stage++) {
        for (size_t i = 0; i < words[stage].count; i++)
            pm_free(words[stage].items[i].text);
        pm_free(words[stage].items);
        words[stage] = (struct pm_words){NULL, 0};
    }
}

/* SPDX-License-Identifier: MIT */
/*
 * Blind tests: making one, the page for whoever fills the vials, answering, closing.
 */
#include "blinding.h"
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/trials.h"

#include <string.h>
#include <sys/random.h>

#define USUAL_ALPHA (PM_NEAT / 20)

/* ---- what a form says ---- */

static double alpha_of(pm_strength alpha)
{
    return (double)alpha / (double)PM_NEAT;
}

/* Vials of a round that bear a code. */
static size_t coded(enum pm_panel_kind kind, size_t samples)
{
    return pm_panel_servings(kind, samples) - (kind == PM_DUO_TRIO);
}

/* Whole blocks, as many as are no longer few, as long as the codes suffice. */
static int64_t usual_rounds(enum pm_panel_kind kind, size_t samples, double alpha)
{
    const int64_t block = (int64_t)pm_blind_block(kind, samples);
    const int64_t most = PM_PANEL_CODES_MAX / (int64_t)coded(kind, samples);
    int64_t rounds = block;
    while (rounds + block <= most && pm_blind_few(kind, rounds, alpha))
        rounds += block;
    return rounds <= most ? rounds : most;
}

/* What is compared; the ids are the form's, or stand in `named`. */
struct compared {
    struct pm_studio *studio;
    int64_t formula;
    int64_t named[PM_PANEL_SAMPLES_MAX];
    const int64_t *trials;
    size_t count;
};

static enum pm_status find_trials(void *context, const struct pm_attribute *attribute,
                                  const char *text, int64_t *id, struct pm_error *err)
{
    struct compared *compared = context;
    if (strcmp(attribute->choices, "trials") != 0)
        return pm_trial_reference(compared->studio, attribute, text, id, err);
    compared->trials = compared->named;
    *id = 0;
    return pm_trials_named(compared->studio, compared->formula, text, compared->named,
                           PM_PANEL_SAMPLES_MAX, &compared->count, err);
}

static enum pm_status check_samples(const struct compared *compared, enum pm_panel_kind kind,
                                    struct pm_error *err)
{
    const size_t count = compared->count;
    if (kind == PM_RANKING && (count < 2 || count > PM_PANEL_SAMPLES_MAX))
        return pm_fail(err, PM_REFUSED, "A ranking takes 2 to %d trials, not %zu.",
                       PM_PANEL_SAMPLES_MAX, count);
    if (kind != PM_RANKING && count != 2)
        return pm_fail(err, PM_REFUSED, "A test of this kind takes two trials, not %zu.", count);
    for (size_t i = 0; i < count; i++) {
        char *title;
        enum pm_status status = pm_smell_title(compared->studio, compared->trials[i], &title, err);
        if (status != PM_OK)
            return status;
        for (size_t j = 0; status == PM_OK && j < i; j++)
            if (compared->trials[j] == compared->trials[i])
                status = pm_fail(err, PM_REFUSED, "%s cannot be told from itself.", title);
        pm_free(title);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

static enum pm_status check_alpha(struct pm_panel_row *row, struct pm_error *err)
{
    if (row->alpha < 0)
        row->alpha = USUAL_ALPHA;
    if (row->alpha > 0 && row->alpha <= PM_NEAT / 2)
        return PM_OK;
    return pm_fail_at(err, "alpha", PM_INVALID,
                      "The significance level lies above 0 and is at most 50 %%.");
}

static enum pm_status check_rounds(struct pm_panel_row *row, size_t samples, struct pm_error *err)
{
    const int64_t most = PM_PANEL_CODES_MAX / (int64_t)coded(row->kind, samples);
    if (row->rounds < 0)
        row->rounds = usual_rounds(row->kind, samples, alpha_of(row->alpha));
    if (row->rounds < 1)
        return pm_fail_at(err, "rounds", PM_INVALID, "A blind test has at least one round.");
    if (row->rounds <= most)
        return PM_OK;
    return pm_fail_at(err, "rounds", PM_REFUSED,
                      "Three-digit codes suffice for %lld rounds of this kind, not for %lld.",
                      (long long)most, (long long)row->rounds);
}

/* ISO 5495: two-sided unless a direction was stated before. */
static enum pm_status check_expected(struct pm_panel_row *row, const struct compared *compared,
                                     struct pm_error *err)
{
    row->expected = -1;
    if (row->foretold == 0) {
        row->kind = row->kind == PM_PAIRED ? PM_PAIRED_TWO_SIDED : row->kind;
        return PM_OK;
    }
    if (row->kind != PM_PAIRED)
        return pm_fail_at(err, "expected", PM_INVALID,
                          "Only a paired comparison with a direction expects one of its trials.");
    for (size_t i = 0; i < compared->count; i++)
        if (compared->trials[i] == row->foretold)
            row->expected = (int)i;
    return row->expected >= 0 ? PM_OK
                              : pm_fail_at(err, "expected", PM_INVALID,
                                           "The expected trial is none of the two compared.");
}

static enum pm_status draw_seed(struct pm_panel_row *row, bool given, struct pm_error *err)
{
    uint32_t drawn;
    if (given)
        return PM_OK;
    if (getrandom(&drawn, sizeof drawn, 0) != (ssize_t)sizeof drawn)
        return pm_fail_at(err, "seed", PM_IO, "The system gives no random number; give a seed.");
    row->seed = drawn;
    return PM_OK;
}

/* The strings go into the arena. */
static enum pm_status read_form(const struct pm_blind_form *form, struct compared *compared,
                                struct pm_arena *arena, struct pm_panel_row *row,
                                struct pm_error *err)
{
    const struct pm_naming naming = {.find = find_trials, .context = compared};
    pm_entity_clear(&pm_panel_entity, row);
    enum pm_status status =
        pm_entity_read(&pm_panel_entity, form->values, row, arena, &naming, err);
    row->foretold = form->expected != 0 ? form->expected : row->foretold;
    if (status == PM_OK && row->name == NULL)
        status = pm_fail_at(err, "name", PM_INVALID, "A blind test has a name.");
    if (status == PM_OK && strspn(row->name, "0123456789") == strlen(row->name))
        status = pm_fail_at(err, "name", PM_INVALID, "A test's name is more than a number.");
    if (status == PM_OK)
        status = pm_error_at(err, "trials", check_samples(compared, row->kind, err));
    if (status == PM_OK)
        status = check_alpha(row, err);
    if (status == PM_OK)
        status = check_expected(row, compared, err);
    if (status == PM_OK)
        status = check_rounds(row, compared->count, err);
    return status == PM_OK ? draw_seed(row, pm_given(form->values[PM_PANEL_SEED]), err) : status;
}

/* ---- codes and orders ---- */

static enum pm_status draw_servings(const struct pm_panel_row *row, size_t samples,
                                    struct pm_serving *out, struct pm_error *err)
{
    const size_t rounds = (size_t)row->rounds, each = pm_panel_servings(row->kind, samples);
    const size_t codes_each = coded(row->kind, samples);
    struct pm_random random;
    uint8_t *orders = pm_alloc(rounds * each);
    uint16_t *codes = pm_alloc_array(rounds * codes_each, sizeof *codes);
    enum pm_status status = orders != NULL && codes != NULL ? PM_OK : pm_fail_memory(err);
    pm_random_seed(&random, row->seed);
    if (status == PM_OK)
        status = pm_panel_orders(row->kind, samples, rounds, &random, orders, err);
    if (status == PM_OK)
        status = pm_panel_codes(&random, rounds * codes_each, codes, err);
    size_t code = 0;
    for (size_t i = 0; status == PM_OK && i < rounds * each; i++) {
        const bool reference = row->kind == PM_DUO_TRIO && i % each == 0;
        out[i] = (struct pm_serving){.round = (int64_t)(i / each) + 1,
                                     .place = (int64_t)(i % each) + 1,
                                     .sample = orders[i],
                                     .code = reference ? 0 : codes[code]};
        code += !reference;
    }
    pm_free(orders);
    pm_free(codes);
    return status;
}

void pm_blind_made_release(struct pm_blind_made *made)
{
    pm_free(made->sentence);
    pm_free(made->power);
    *made = (struct pm_blind_made){.id = 0};
}

static enum pm_status say_made(const struct pm_panel_row *row, size_t samples,
                               struct pm_blind_made *out, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY, power = PM_TEXT_EMPTY;
    const int64_t block = (int64_t)pm_blind_block(row->kind, samples);
    pm_text_addf(&sentence, "Blind test \"%s\" (%s): %lld round%s of %zu vials", row->name,
                 pm_panel_word(row->kind), (long long)row->rounds, row->rounds == 1 ? "" : "s",
                 pm_panel_servings(row->kind, samples));
    pm_say_power(&power, row->kind, samples, row->rounds, alpha_of(row->alpha));
    if (row->rounds % block != 0)
        pm_text_addf(&power,
                     " Orders are balanced in blocks of %lld rounds; the last block is incomplete.",
                     (long long)block);
    struct pm_blind_made made = {row->id, NULL, NULL};
    if (pm_text_ok(&sentence) && pm_text_ok(&power)) {
        made.sentence = pm_text_take(&sentence);
        made.power = pm_text_take(&power);
    }
    pm_text_release(&sentence);
    pm_text_release(&power);
    if (made.sentence == NULL)
        return pm_fail_memory(err);
    *out = made;
    return PM_OK;
}

static enum pm_status make(struct pm_studio *studio, const struct pm_blind_form *form,
                           struct pm_arena *arena, struct pm_blind_made *out, struct pm_error *err)
{
    struct pm_panel_row row = {.name = NULL};
    struct compared compared = {.studio = studio,
                                .formula = form->formula,
                                .trials = form->trials,
                                .count = form->trial_count};
    enum pm_status status = read_form(form, &compared, arena, &row, err);
    if (status != PM_OK)
        return status;
    const size_t samples = compared.count;
    const size_t count = (size_t)row.rounds * pm_panel_servings(row.kind, samples);
    struct pm_serving *servings = pm_arena_array(arena, count, sizeof *servings);
    status = servings != NULL ? draw_servings(&row, samples, servings, err) : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_panel_insert(studio->library, &row, compared.trials, samples, servings, count,
                                 &row.id, err);
    if (status == PM_EXISTS)
        pm_error_at(err, "name", status);
    return status == PM_OK ? say_made(&row, samples, out, err) : status;
}

enum pm_status pm_blind_new(struct pm_studio *studio, const struct pm_blind_form *form,
                            struct pm_blind_made *out, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_blind_made made = {.id = 0};
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, make(studio, form, &arena, &made, err), err);
    pm_arena_release(&arena);
    if (status == PM_OK)
        *out = made;
    else
        pm_blind_made_release(&made);
    return status;
}

/* ---- the page for whoever fills the vials ---- */

void pm_blind_page_release(struct pm_blind_page *page)
{
    for (size_t i = 0; i < page->sample_count; i++) {
        pm_free(page->samples[i].title);
        pm_free(page->samples[i].codes);
        pm_free(page->samples[i].references);
    }
    pm_free(page->advice);
    *page = (struct pm_blind_page){.sample_count = 0};
}

/* Room for the codes of one sample; they come by number, without gaps. */
static enum pm_status begin_sample(struct pm_studio *studio, struct pm_blind_page *page,
                                   int64_t trial, size_t vials, struct pm_error *err)
{
    const size_t at = page->sample_count++;
    enum pm_status status = pm_smell_title(studio, trial, &page->samples[at].title, err);
    page->samples[at].codes = pm_alloc_array(vials, sizeof *page->samples[at].codes);
    page->samples[at].references = pm_alloc_array(vials, sizeof *page->samples[at].references);
    if (status == PM_OK &&
        (page->samples[at].codes == NULL || page->samples[at].references == NULL))
        status = pm_fail_memory(err);
    return status;
}

/* In rising order: the order of serving would give rounds away. */
static void add_code(struct pm_blind_page *page, const struct pm_serving *serving)
{
    const size_t sample = (size_t)serving->sample;
    if (sample >= page->sample_count)
        return;
    if (serving->code == 0) {
        page->samples[sample].references[page->samples[sample].reference_count++] = serving->round;
        return;
    }
    int *codes = page->samples[sample].codes;
    size_t at = page->samples[sample].count++;
    for (; at > 0 && codes[at - 1] > serving->code; at--)
        codes[at] = codes[at - 1];
    codes[at] = serving->code;
}

static enum pm_status read_page(struct pm_studio *studio, int64_t id, struct pm_blind_page *page,
                                struct pm_error *err)
{
    struct pm_servings servings = {0};
    struct pm_samples samples = {0};
    enum pm_status status = pm_panel_servings_list(studio->library, id, &servings, err);
    if (status == PM_OK)
        status = pm_panel_samples(studio->library, id, &samples, err);
    for (size_t i = 0; status == PM_OK && i < samples.count && i < PM_PANEL_SAMPLES_MAX; i++)
        status = begin_sample(studio, page, samples.items[i], servings.count, err);
    for (size_t i = 0; status == PM_OK && i < servings.count; i++)
        add_code(page, &servings.items[i]);
    pm_list_release(&samples);
    pm_list_release(&servings);
    return status;
}

enum pm_status pm_blind_fill(struct pm_studio *studio, int64_t id, struct pm_blind_page *out,
                             struct pm_error *err)
{
    struct pm_blind_page page = {.sample_count = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, read_page(studio, id, &page, err));
    if (status == PM_OK) {
        page.advice = pm_strdup("This page is the key: whoever has read it is not blind any more. "
                                "Best let somebody else fill the vials. To be your own blind "
                                "assessor, fill and label them from this page, put it away, "
                                "shuffle the vials, and let some hours go by.");
        status = page.advice != NULL ? PM_OK : pm_fail_memory(err);
    }
    if (status == PM_OK)
        *out = page;
    else
        pm_blind_page_release(&page);
    return status;
}

/* ---- answers ---- */

/* What is being answered. */
struct answering {
    const struct pm_panel_row *row;
    struct pm_servings servings;
    struct pm_text answer; /* in the form it is kept in */
    int codes[PM_PANEL_SAMPLES_MAX];
    size_t count;
    int64_t round;
};

static enum pm_status add_answer(struct answering *answering, int code, bool tied,
                                 struct pm_error *err)
{
    const size_t at = pm_servings_find(&answering->servings, code);
    if (at == SIZE_MAX)
        return pm_fail(err, PM_MISSING, "No vial of \"%s\" bears %d: look at it again.",
                       answering->row->name, code);
    for (size_t i = 0; i < answering->count; i++)
        if (answering->codes[i] == code)
            return pm_fail(err, PM_INVALID, "%d stands twice.", code);
    const int64_t round = answering->servings.items[at].round;
    if (answering->count > 0 && round != answering->round)
        return pm_fail(err, PM_INVALID, "%d belongs to round %lld, %d to round %lld.", code,
                       (long long)round, answering->codes[0], (long long)answering->round);
    answering->round = round;
    pm_text_addf(&answering->answer, "%s%d", answering->count == 0 ? "" : tied ? "=" : " ", code);
    answering->codes[answering->count++] = code;
    return PM_OK;
}

static enum pm_status read_answer(struct answering *answering, const char *text,
                                  struct pm_error *err)
{
    const bool ranking = answering->row->kind == PM_RANKING;
    const size_t wanted = ranking ? answering->row->sample_count : 1;
    enum pm_status status = PM_OK;
    bool tied;
    for (int code = pm_codes_next(&text, &tied); status == PM_OK && code != 0;
         code = pm_codes_next(&text, &tied)) {
        if (code < 0)
            return pm_fail(err, PM_INVALID,
                           ranking ? "\"%s\" is no three-digit code; write them in order, ties "
                                     "joined: 417 236=902."
                                   : "\"%s\" is no three-digit code: answer with what the vial "
                                     "bears.",
                           text + strspn(text, " \t,="));
        if (answering->count == wanted && ranking)
            return pm_fail(err, PM_INVALID, "A round has %zu vials; %d is one too many.", wanted,
                           code);
        if (answering->count == wanted)
            return pm_fail(err, PM_INVALID, "One code is the answer; %d is one too many.", code);
        status = add_answer(answering, code, tied, err);
    }
    if (status == PM_OK && answering->count == 0)
        status = pm_fail(err, PM_INVALID, "The answer is a code from a vial.");
    else if (status == PM_OK && answering->count < wanted)
        status = pm_fail(err, PM_INVALID,
                         "A ranking names all %zu codes of its round; round %lld lacks %zu.",
                         wanted, (long long)answering->round, wanted - answering->count);
    return status;
}

/* The answer of a round that stands; NULL when there is none. */
static const struct pm_panel_answer *find_standing(const struct pm_panel_answers *answers,
                                                   int64_t round)
{
    for (size_t i = 0; i < answers->count; i++)
        if (answers->items[i].round == round && !answers->items[i].corrected)
            return &answers->items[i];
    return NULL;
}

void pm_blind_said_release(struct pm_blind_said *said)
{
    pm_free(said->sentence);
    *said = (struct pm_blind_said){.round = 0};
}

static enum pm_status check_standing(const struct pm_panel_answer *standing, int64_t round,
                                     bool correct, struct pm_error *err)
{
    char at[PM_TIME_TEXT];
    if (standing != NULL && !correct)
        return pm_fail(err, PM_REFUSED,
                       "Round %lld was answered already: %s, on %s. To replace that answer, say "
                       "that this one corrects it.",
                       (long long)round, standing->answer, pm_time_format(standing->at, at));
    if (standing == NULL && correct)
        return pm_fail(err, PM_REFUSED, "Round %lld has no answer yet that could be corrected.",
                       (long long)round);
    return PM_OK;
}

/* Writes the answer; *replaced tells whether it corrected one. Who corrects an answer without
 * saying whose it is means the same nose. */
static enum pm_status write_answer(struct pm_studio *studio, const struct answering *answering,
                                   const char *assessor, bool correct, bool *replaced,
                                   struct pm_error *err)
{
    struct pm_panel_answers answers;
    int64_t id;
    enum pm_status status =
        pm_panel_answer_list(studio->library, answering->row->id, &answers, err);
    if (status != PM_OK)
        return status;
    const struct pm_panel_answer *standing = find_standing(&answers, answering->round);
    status = check_standing(standing, answering->round, correct, err);
    if (status == PM_OK) {
        const struct pm_panel_answer answer = {
            .round = answering->round,
            .answer = pm_text_get(&answering->answer),
            .assessor = assessor != NULL || standing == NULL ? assessor : standing->assessor,
            .at = pm_studio_now(studio),
            .corrects = standing != NULL ? standing->id : 0};
        *replaced = standing;
        status = pm_panel_answer_insert(studio->library, answering->row->id, &answer, &id, err);
    }
    pm_list_release(&answers);
    return status;
}

static enum pm_status answer_open(struct pm_studio *studio, const struct pm_panel_row *row,
                                  const char *text, const char *assessor, bool correct,
                                  struct pm_blind_said *out, struct pm_error *err)
{
    struct answering answering = {.row = row};
    struct pm_text sentence = PM_TEXT_EMPTY;
    bool replaced = false;
    enum pm_status status =
        pm_panel_servings_list(studio->library, row->id, &answering.servings, err);
    if (status != PM_OK)
        return status;
    status = read_answer(&answering, text, err);
    if (status == PM_OK && !pm_text_ok(&answering.answer))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = write_answer(studio, &answering, assessor, correct, &replaced, err);
    if (status == PM_OK) {
        pm_text_addf(&sentence, "Round %lld of \"%s\": %s%s; %lld of %lld answered",
                     (long long)answering.round, row->name, pm_text_get(&answering.answer),
                     replaced ? " in place of the earlier answer" : "",
                     (long long)(row->answered + !replaced), (long long)row->rounds);
        struct pm_blind_said said = {answering.round, pm_text_take(&sentence)};
        status = said.sentence != NULL ? PM_OK : pm_fail_memory(err);
        if (status == PM_OK)
            *out = said;
    }
    pm_text_release(&sentence);
    pm_text_release(&answering.answer);
    pm_list_release(&answering.servings);
    return status;
}

static enum pm_status fail_closed(const struct pm_panel_row *row, struct pm_error *err)
{
    char at[PM_TIME_TEXT];
    return pm_fail(err, PM_REFUSED, "\"%s\" was closed on %s: its key has been shown.", row->name,
                   pm_time_format(row->closed_at, at));
}

static enum pm_status give_answer(struct pm_studio *studio, int64_t id, const char *answer,
                                  const char *assessor, bool correct, struct pm_blind_said *out,
                                  struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_panel_row row;
    enum pm_status status = pm_panel_get(studio->library, id, &arena, &row, err);
    if (status == PM_OK)
        status = row.closed_at != 0
                     ? fail_closed(&row, err)
                     : answer_open(studio, &row, answer, assessor, correct, out, err);
    pm_arena_release(&arena);
    return pm_error_at(err, "answer", status);
}

enum pm_status pm_blind_answer(struct pm_studio *studio, int64_t id, const char *answer,
                               const char *assessor, bool correct, struct pm_blind_said *out,
                               struct pm_error *err)
{
    struct pm_blind_said said = {.round = 0};
    char *who = NULL;
    enum pm_status status = PM_OK;
    if (pm_given(assessor))
        status =
            pm_error_at(err, "assessor", pm_name_clean(assessor, "The assessor's name", &who, err));
    if (status == PM_OK)
        status = pm_change_begin(studio, err);
    if (status == PM_OK)
        status =
            pm_change_end(studio, give_answer(studio, id, answer, who, correct, &said, err), err);
    pm_free(who);
    if (status == PM_OK)
        *out = said;
    else
        pm_blind_said_release(&said);
    return status;
}

enum pm_status pm_blind_close(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_panel_row row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_panel_get(studio->library, id, &arena, &row, err);
    if (status == PM_OK)
        status = row.closed_at != 0 ? fail_closed(&row, err)
                                    : pm_panel_end(studio->library, id, pm_studio_now(studio), err);
    pm_arena_release(&arena);
    return pm_change_end(studio, status, err);
}

/* ---- finding one ---- */

static enum pm_status fail_missing(struct pm_studio *studio, const char *text, struct pm_error *err)
{
    struct pm_nearest nearest;
    struct pm_panel_rows rows = {0};
    char hint[256];
    if (!pm_nearest_init(&nearest, text))
        return pm_fail_memory(err);
    enum pm_status status = pm_panel_list(studio->library, &rows, err);
    for (size_t i = 0; i < rows.count; i++)
        pm_nearest_offer(&nearest, rows.items[i].name, rows.items[i].name);
    if (status == PM_OK)
        status = pm_fail(err, PM_MISSING, "There is no blind test \"%s\"%s", text,
                         pm_nearest_hint(&nearest, hint, sizeof hint));
    pm_list_release(&rows);
    pm_nearest_release(&nearest);
    return status;
}

static enum pm_status find(struct pm_studio *studio, const char *text, int64_t *id,
                           struct pm_error *err)
{
    struct pm_panel_row row;
    if (text[0] != '\0' && strspn(text, "0123456789") == strlen(text)) {
        enum pm_status status = pm_decimal_read(text, 0, "The number", id, err);
        return status == PM_OK ? pm_panel_get(studio->library, *id, NULL, &row, err) : status;
    }
    enum pm_status status = pm_panel_by_name(studio->library, text, id, err);
    return status == PM_OK && *id == 0 ? fail_missing(studio, text, err) : status;
}

enum pm_status pm_blind_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err)
{
    int64_t found = 0;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, find(studio, text, &found, err));
    if (status == PM_OK)
        *id = found;
    return status;
}

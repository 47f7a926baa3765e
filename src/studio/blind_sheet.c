/* SPDX-License-Identifier: MIT */
/*
 * Blind tests looked at: the list, one with its rounds, and once closed its key and result.
 */
#include "blinding.h"
#include "smelling.h"

#include "permille/base/mem.h"

#include <math.h>
#include <string.h>

/* ---- the list ---- */

enum pm_status pm_blind_list(struct pm_studio *studio, struct pm_panel_rows *out,
                             struct pm_error *err)
{
    return pm_panel_list(studio->library, out, err);
}

/* ---- one of them ---- */

void pm_blind_sheet_release(struct pm_blind_sheet *sheet)
{
    pm_arena_release(&sheet->arena);
    *sheet = (struct pm_blind_sheet){.servings = 0};
}

static enum pm_status open_samples(struct pm_studio *studio, struct pm_blind_sheet *sheet,
                                   struct pm_error *err)
{
    struct pm_samples samples;
    enum pm_status status = pm_panel_samples(studio->library, sheet->row.id, &samples, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < samples.count && i < PM_PANEL_SAMPLES_MAX; i++) {
        char *title = NULL;
        sheet->trials[i] = samples.items[i];
        status = pm_smell_title(studio, samples.items[i], &title, err);
        sheet->samples[i] = pm_arena_text(&sheet->arena, title);
        pm_free(title);
    }
    pm_list_release(&samples);
    return status == PM_OK ? pm_arena_status(&sheet->arena, err) : status;
}

static struct pm_blind_round *round_of(struct pm_blind_sheet *sheet, int64_t round)
{
    return round >= 1 && round <= sheet->row.rounds ? &sheet->rounds[round - 1] : NULL;
}

static enum pm_status open_answers(struct pm_studio *studio, struct pm_blind_sheet *sheet,
                                   struct pm_error *err)
{
    struct pm_panel_answers answers;
    enum pm_status status = pm_panel_answer_list(studio->library, sheet->row.id, &answers, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < answers.count; i++) {
        const struct pm_panel_answer *answer = &answers.items[i];
        struct pm_blind_round *round = round_of(sheet, answer->round);
        if (round == NULL)
            continue;
        if (answer->corrected) {
            round->replaced++;
            continue;
        }
        round->answer = pm_arena_text(&sheet->arena, answer->answer);
        round->assessor = pm_arena_text(&sheet->arena, answer->assessor);
        round->at = answer->at;
    }
    pm_list_release(&answers);
    return pm_arena_status(&sheet->arena, err);
}

static enum pm_status fill_rounds(struct pm_blind_sheet *sheet, const struct pm_servings *servings,
                                  struct pm_error *err)
{
    const size_t vials = (size_t)sheet->row.rounds * sheet->servings;
    if (servings->count != vials)
        return pm_fail(err, PM_DAMAGED, "Codes of the blind test \"%s\" are missing.",
                       sheet->row.name);
    sheet->rounds = pm_arena_array(&sheet->arena, (size_t)sheet->row.rounds, sizeof *sheet->rounds);
    sheet->vials = pm_arena_array(&sheet->arena, vials, sizeof *sheet->vials);
    if (sheet->rounds == NULL || sheet->vials == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < vials; i++)
        sheet->vials[i] = (struct pm_blind_vial){
            .code = servings->items[i].code,
            .sample = sheet->row.closed_at != 0 ? servings->items[i].sample : -1};
    for (int64_t i = 0; i < sheet->row.rounds; i++)
        sheet->rounds[i] = (struct pm_blind_round){
            .round = i + 1, .vials = &sheet->vials[(size_t)i * sheet->servings]};
    return PM_OK;
}

static enum pm_status open_rounds(struct pm_studio *studio, struct pm_blind_sheet *sheet,
                                  struct pm_error *err)
{
    struct pm_servings servings;
    enum pm_status status = pm_panel_servings_list(studio->library, sheet->row.id, &servings, err);
    if (status != PM_OK)
        return status;
    status = fill_rounds(sheet, &servings, err);
    pm_list_release(&servings);
    return status;
}

static enum pm_status open_row(struct pm_studio *studio, int64_t id, struct pm_blind_sheet *sheet,
                               struct pm_error *err)
{
    struct pm_panel_row *row = &sheet->row;
    enum pm_status status = pm_panel_get(studio->library, id, &sheet->arena, row, err);
    if (status != PM_OK)
        return status;
    sheet->sample_count = row->sample_count;
    sheet->servings = pm_panel_servings(row->kind, row->sample_count);
    if (row->sample_count < 2 || row->sample_count > PM_PANEL_SAMPLES_MAX)
        return pm_fail(err, PM_DAMAGED, "Samples of the blind test \"%s\" are missing.", row->name);
    return PM_OK;
}

static enum pm_status read_sheet(struct pm_studio *studio, int64_t id, struct pm_blind_sheet *sheet,
                                 struct pm_error *err)
{
    enum pm_status status = open_row(studio, id, sheet, err);
    if (status == PM_OK)
        status = open_samples(studio, sheet, err);
    if (status == PM_OK)
        status = open_rounds(studio, sheet, err);
    return status == PM_OK ? open_answers(studio, sheet, err) : status;
}

/* ---- the result ---- */

/* The sample an answer of a difference test chose; -1 when it names none of its round. */
static int chosen_sample(const struct pm_blind_sheet *sheet, const struct pm_blind_round *round)
{
    bool tied;
    const char *text = round->answer;
    const int code = pm_codes_next(&text, &tied);
    for (size_t v = 0; code > 0 && v < sheet->servings; v++)
        if (round->vials[v].code == code)
            return round->vials[v].sample;
    return -1;
}

/* The sample that would have been right. */
static int right_sample(const struct pm_blind_sheet *sheet, const struct pm_blind_round *round,
                        int more_chosen)
{
    switch (sheet->row.kind) {
    case PM_TRIANGLE: {
        const int a = round->vials[0].sample, b = round->vials[1].sample,
                  c = round->vials[2].sample;
        return a == b ? c : a == c ? b : a;
    }
    case PM_DUO_TRIO:
        return round->vials[0].sample;
    case PM_PAIRED:
        return sheet->row.expected;
    case PM_PAIRED_TWO_SIDED:
        return more_chosen;
    case PM_RANKING:
        break;
    }
    return -1;
}

static void judge_difference(struct pm_blind_sheet *sheet)
{
    struct pm_blind_result *result = &sheet->result;
    const double alpha = (double)sheet->row.alpha / (double)PM_NEAT;
    int64_t chosen[2] = {0, 0};
    for (int64_t i = 0; i < sheet->row.rounds; i++) {
        const int sample =
            sheet->rounds[i].answer != NULL ? chosen_sample(sheet, &sheet->rounds[i]) : -1;
        if (sample == 0 || sample == 1)
            chosen[sample]++;
    }
    result->more_chosen = chosen[0] == chosen[1] ? -1 : chosen[1] > chosen[0];
    for (int64_t i = 0; i < sheet->row.rounds; i++) {
        struct pm_blind_round *round = &sheet->rounds[i];
        if (round->answer == NULL)
            continue;
        round->correct =
            chosen_sample(sheet, round) >= 0 &&
            chosen_sample(sheet, round) == right_sample(sheet, round, result->more_chosen);
        result->correct += round->correct;
    }
    const int answers = (int)sheet->row.answered;
    if (sheet->row.kind == PM_PAIRED_TWO_SIDED)
        result->correct = chosen[0] > chosen[1] ? chosen[0] : chosen[1];
    result->answers = answers;
    result->p = pm_panel_p_value(sheet->row.kind, answers, (int)result->correct);
    result->by = PM_BY_COUNTING;
    result->least = pm_panel_least_correct(sheet->row.kind, answers, alpha);
    result->shown = result->least > 0 && result->correct >= result->least;
    result->exploratory = pm_blind_few(sheet->row.kind, answers, alpha);
    pm_panel_discriminators(sheet->row.kind, answers, (int)result->correct, 0.95, &result->share);
}

/* The ranks of one answer, by sample; ties share the mean of their places. */
static void rank_round(const struct pm_blind_sheet *sheet, const struct pm_blind_round *round,
                       double *ranks)
{
    const char *text = round->answer;
    int samples[PM_PANEL_SAMPLES_MAX];
    bool ties[PM_PANEL_SAMPLES_MAX];
    size_t count = 0;
    bool tied;
    for (int code = pm_codes_next(&text, &tied); code > 0 && count < sheet->sample_count;
         code = pm_codes_next(&text, &tied))
        for (size_t v = 0; v < sheet->servings; v++)
            if (round->vials[v].code == code) {
                samples[count] = round->vials[v].sample;
                ties[count++] = tied;
            }
    for (size_t from = 0; from < count;) {
        size_t to = from + 1;
        while (to < count && ties[to])
            to++;
        for (size_t i = from; i < to; i++)
            ranks[samples[i]] = (double)(from + to + 1) / 2;
        from = to;
    }
}

static enum pm_status judge_ranking(struct pm_blind_sheet *sheet, struct pm_error *err)
{
    struct pm_blind_result *result = &sheet->result;
    struct pm_friedman friedman;
    const size_t answers = (size_t)sheet->row.answered, samples = sheet->sample_count;
    double *ranks = pm_alloc_array(answers * samples, sizeof *ranks);
    if (ranks == NULL)
        return pm_fail_memory(err);
    size_t row = 0;
    for (int64_t i = 0; i < sheet->row.rounds; i++)
        if (sheet->rounds[i].answer != NULL)
            rank_round(sheet, &sheet->rounds[i], &ranks[row++ * samples]);
    enum pm_status status =
        pm_panel_friedman(ranks, answers, samples, sheet->row.seed, &friedman, err);
    for (size_t i = 0; status == PM_OK && i < answers * samples; i++)
        result->rank_sums[i % samples] += ranks[i];
    pm_free(ranks);
    if (status != PM_OK)
        return status;
    result->answers = sheet->row.answered;
    result->statistic = friedman.statistic;
    result->degrees = friedman.degrees;
    result->p = friedman.p;
    result->by = friedman.by;
    result->permutations = friedman.permutations;
    result->error = friedman.error;
    result->shown = friedman.p <= (double)sheet->row.alpha / (double)PM_NEAT;
    result->exploratory = sheet->row.answered < PM_RANKING_FEW;
    result->rank_difference = pm_panel_rank_difference(answers, samples);
    return PM_OK;
}

/* ---- remarks ---- */

static const char *assessor_of(const struct pm_blind_round *round)
{
    return round->assessor != NULL ? round->assessor : "";
}

/* Who answered how often, in the order of first answers. Returns how many; says so in words where
 * they answered unequally. */
static size_t count_assessors(const struct pm_blind_sheet *sheet, struct pm_text *remarks)
{
    struct pm_text who = PM_TEXT_EMPTY;
    size_t assessors = 0;
    int64_t least = INT64_MAX, most = 0;
    for (int64_t i = 0; i < sheet->row.rounds; i++) {
        const char *name = assessor_of(&sheet->rounds[i]);
        int64_t count = 0;
        bool earlier = sheet->rounds[i].answer == NULL;
        for (int64_t j = 0; !earlier && j < sheet->row.rounds; j++) {
            const bool same = sheet->rounds[j].answer != NULL &&
                              strcmp(assessor_of(&sheet->rounds[j]), name) == 0;
            earlier = same && j < i;
            count += same;
        }
        if (earlier)
            continue;
        pm_text_addf(&who, "%s%s %lld", assessors > 0 ? ", " : "", *name ? name : "yourself",
                     (long long)count);
        assessors++;
        least = count < least ? count : least;
        most = count > most ? count : most;
    }
    if (assessors > 1 && least != most)
        pm_text_addf(remarks,
                     "Answers are unequal (%s): the test counts every answer alike, so whoever "
                     "answered more weighs more.\n",
                     pm_text_get(&who));
    pm_text_release(&who);
    return assessors;
}

static size_t say_remarks(const struct pm_blind_sheet *sheet, struct pm_text *out)
{
    size_t replaced = 0;
    const int64_t block = (int64_t)pm_blind_block(sheet->row.kind, sheet->sample_count);
    for (int64_t i = 0; i < sheet->row.rounds; i++)
        replaced += sheet->rounds[i].replaced;
    if (sheet->row.answered < sheet->row.rounds && sheet->has_result)
        pm_text_addf(out, "%lld of %lld rounds were answered; the result is of those.\n",
                     (long long)sheet->row.answered, (long long)sheet->row.rounds);
    if (sheet->row.answered % block != 0 && sheet->has_result)
        pm_text_addf(out,
                     "The orders answered are not quite balanced: that takes whole blocks of "
                     "%lld rounds.\n",
                     (long long)block);
    if (replaced > 0)
        pm_text_addf(out, "%zu answer%s corrected before closing.\n", replaced,
                     replaced == 1 ? " was" : "s were");
    return count_assessors(sheet, out);
}

/* ---- putting it together ---- */

static void say_task(const struct pm_blind_sheet *sheet, struct pm_text *out)
{
    const char *question = sheet->row.question;
    switch (sheet->row.kind) {
    case PM_TRIANGLE:
        pm_text_add(out, "Smell the three in the order given. Two are the same: answer the code of "
                         "the odd one. When in doubt, guess.");
        break;
    case PM_DUO_TRIO:
        pm_text_add(out, "Smell the reference R, then the two codes in the order given: answer the "
                         "one that is the same as R. When in doubt, guess.");
        break;
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        pm_text_addf(out,
                     "Smell the two in the order given. %s Answer its code; when in doubt, "
                     "guess.",
                     question != NULL ? question : "Which one do you choose?");
        return;
    case PM_RANKING:
        pm_text_addf(out,
                     "Smell them in the order given, then put them in order. %s Answer all "
                     "codes, first place first; join those you cannot tell apart: 417 "
                     "236=902.",
                     question != NULL ? question : "Which comes first?");
        return;
    }
    if (question != NULL)
        pm_text_addf(out, " %s", question);
}

static enum pm_status finish_sheet(struct pm_blind_sheet *sheet, struct pm_error *err)
{
    struct pm_text task = PM_TEXT_EMPTY, words = PM_TEXT_EMPTY, remarks = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    const int64_t needed = sheet->row.kind == PM_RANKING ? 2 : 1;
    sheet->has_result = sheet->row.closed_at != 0 && sheet->row.answered >= needed;
    if (sheet->has_result && sheet->row.kind == PM_RANKING)
        status = judge_ranking(sheet, err);
    else if (sheet->has_result)
        judge_difference(sheet);
    if (status != PM_OK)
        return status;
    say_task(sheet, &task);
    const size_t assessors = say_remarks(sheet, &remarks);
    /* A share of noses can be estimated only from answers that are each of another nose. */
    sheet->result.has_share = sheet->has_result &&
                              (sheet->row.kind == PM_TRIANGLE || sheet->row.kind == PM_DUO_TRIO) &&
                              (int64_t)assessors == sheet->row.answered;
    if (sheet->has_result)
        pm_say_result(&words, sheet, assessors);
    else if (sheet->row.closed_at != 0)
        pm_text_addf(&words, "Closed with %s: it shows nothing.",
                     sheet->row.answered == 0 ? "no answer" : "too few answers");
    else
        pm_say_power(&words, sheet->row.kind, sheet->sample_count, sheet->row.rounds,
                     (double)sheet->row.alpha / (double)PM_NEAT);
    if (pm_text_ok(&task) && pm_text_ok(&words) && pm_text_ok(&remarks)) {
        if (remarks.length > 0)
            remarks.data[--remarks.length] = '\0'; /* the last line's end */
        sheet->task = pm_arena_text(&sheet->arena, pm_text_get(&task));
        sheet->words = pm_arena_text(&sheet->arena, pm_text_get(&words));
        if (remarks.length > 0)
            sheet->remarks = pm_arena_text(&sheet->arena, pm_text_get(&remarks));
        status = pm_arena_status(&sheet->arena, err);
    } else {
        status = pm_fail_memory(err);
    }
    pm_text_release(&task);
    pm_text_release(&words);
    pm_text_release(&remarks);
    return status;
}

enum pm_status pm_blind_open(struct pm_studio *studio, int64_t id, struct pm_blind_sheet *out,
                             struct pm_error *err)
{
    struct pm_blind_sheet sheet = {.servings = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_sheet(studio, id, &sheet, err));
    if (status == PM_OK)
        status = finish_sheet(&sheet, err);
    if (status == PM_OK)
        *out = sheet;
    else
        pm_blind_sheet_release(&sheet);
    return status;
}

/* SPDX-License-Identifier: MIT */
/*
 * Series: trials made to be compared, kept one after the other by gestures on the draft, which then
 * is as it was. A series is one transaction; its trials are ordinary kept trials.
 */
#ifndef PERMILLE_STUDIO_SERIES_H
#define PERMILLE_STUDIO_SERIES_H

#include "permille/base/arena.h"
#include "permille/core/dose.h"
#include "permille/core/mixture.h"
#include "permille/core/plot.h"
#include "permille/core/premix.h"
#include "permille/core/series.h"
#include "permille/core/smell.h"
#include "permille/studio/studio.h"

/* ---- making one ---- */

/* Text as typed; NULL: not given. */
struct pm_series_form {
    int64_t formula;  /* its draft is what the trials are made from */
    const char *name; /* not given: made of what it is about */
    bool blind;       /* with a blind test: ladder and ratios a ranking of all its trials, leave-out
                         a triangle of each against the one that has all */
    const char *rounds; /* of each test */
};
struct pm_series_made {
    int64_t id;
    char *sentence; /* owned */
};
void pm_series_made_release(struct pm_series_made *made);

/* One line at rising doses, the others as the mode says. Either the doses ("1, 2, 4") or two ends
 * with a count. */
struct pm_ladder_form {
    const char *line; /* as pm_sheet_find_line */
    const char *doses;
    const char *from, *to, *count; /* parts; not given: 5 doses */
    bool equal_steps;              /* else equal ratios */
};
enum pm_status pm_series_ladder(struct pm_studio *studio, const struct pm_series_form *form,
                                const struct pm_ladder_form *ladder, struct pm_series_made *out,
                                struct pm_error *err);
/* One trial as the draft is, and one without each of the lines. */
enum pm_status pm_series_leave_out(struct pm_studio *studio, const struct pm_series_form *form,
                                   const char *const *lines, size_t count,
                                   struct pm_series_made *out, struct pm_error *err);
/* Ratios of two to five lines, their sum and all else as they are. `least` and `most` are texts of
 * shares like "10%", one per line, or NULL. degree as pm_mix_design. */
struct pm_ratios_form {
    const char *const *lines;
    size_t count;
    const char *const *least, *const *most;
    int degree;
};
enum pm_status pm_series_ratios(struct pm_studio *studio, const struct pm_series_form *form,
                                const struct pm_ratios_form *ratios, struct pm_series_made *out,
                                struct pm_error *err);

/* ---- looking ---- */

/* By name (case and accents ignored) or number. PM_MISSING. */
enum pm_status pm_series_find(struct pm_studio *studio, const char *text, int64_t *id,
                              struct pm_error *err);
/* Newest first; formula 0: all. */
enum pm_status pm_series_all(struct pm_studio *studio, int64_t formula, struct pm_series_rows *out,
                             struct pm_error *err);

struct pm_series_step {
    struct pm_series_trial row;
    const char *title;                  /* "Name/5" */
    size_t ratings;                     /* entered */
    double rating;                      /* their mean */
    size_t likings;                     /* in the person's own notes of the smell log */
    double liking;                      /* their mean */
    int64_t answered, planned, correct; /* of its blind test; 0 without one */
    bool closed;                        /* then correct and p are told */
    double p;
    bool shown; /* p is at or below the level of the test */
};
struct pm_series_sheet {
    struct pm_series_row row;
    const char *formula;
    const char **lines; /* names of what it is about */
    size_t line_count;
    struct pm_series_step *steps;
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_series_open(struct pm_studio *studio, int64_t id, struct pm_series_sheet *out,
                              struct pm_error *err);
void pm_series_sheet_release(struct pm_series_sheet *sheet);
/* What distinguishes the trial: "2.5 parts", "4:0:1", "without Indole", "all of it". */
void pm_series_say_what(const struct pm_series_trial *trial, char sign, struct pm_text *out);

/* ---- rating ---- */

/* A number of 0 to 1000, for a trial of the series ("Name/5", or 5). *sentence is a new string. */
enum pm_status pm_series_rate(struct pm_studio *studio, int64_t series, const char *trial,
                              const char *value, char **sentence, struct pm_error *err);
/* Takes back what was entered last for a trial. */
enum pm_status pm_series_unrate(struct pm_studio *studio, int64_t series, const char *trial,
                                char **sentence, struct pm_error *err);

/* ---- weighing ---- */

struct pm_series_weigh {
    struct pm_premix premix;
    const char **ingredients; /* as poured: "Indole 10 % in Ethanol" */
    const char **trials;      /* titles */
    pm_mass batch, least;
    struct pm_arena arena;
};
/* batch as typed, of each trial; least: the smallest amount the balance weighs well enough, not
 * given 0.1 g; 5 % more premix and stock than is needed. */
enum pm_status pm_series_plan(struct pm_studio *studio, int64_t series, const char *batch,
                              const char *least, struct pm_series_weigh *out, struct pm_error *err);
void pm_series_weigh_release(struct pm_series_weigh *weigh);
/* The plan in lines of text. */
void pm_series_weigh_say(const struct pm_series_weigh *weigh, char sign, struct pm_text *out);

/* ---- ratios: the fit ---- */

struct pm_series_fit {
    enum pm_mix_model model;
    size_t components;
    const char *names[PM_MIX_MOST];
    struct pm_mix_bounds bounds;
    struct pm_fit fit;
    struct pm_mix_best best;
    double low, high;                          /* 95 % interval of the fitted value at the best */
    double from[PM_MIX_MOST], to[PM_MIX_MOST]; /* shares of mixtures not told from the best, 95 % */
    bool sure;                   /* the fit has freedom left: the intervals mean something */
    bool from_smells;            /* the likings of the smell log, because no rating was entered */
    struct pm_mix_point *points; /* one per observation */
    double *values;
    size_t observations;
    struct pm_arena arena;
};
/* model NULL: the largest that the design tells with an observation to spare. PM_REFUSED for what
 * cannot be told: too few ratings, all alike. */
enum pm_status pm_series_fitted(struct pm_studio *studio, int64_t series, const char *model,
                                struct pm_series_fit *out, struct pm_error *err);
void pm_series_fit_release(struct pm_series_fit *fit);
/* What it says and how sure it is, one sentence per line. */
void pm_series_fit_say(const struct pm_series_fit *fit, char sign, struct pm_text *out);
/* Its terms, one per line: "x1  8.2  standard error 0.4  Tar"; of a fit that is not sure without
 * the error, which would be nothing. In columns, or to be read aloud. */
void pm_series_fit_say_terms(const struct pm_series_fit *fit, bool aloud, char sign,
                             struct pm_text *out);
/* Of three components: the fitted values over the triangle, the trials as points. `words` gets the
 * same in a line. */
enum pm_status pm_series_triangle(const struct pm_series_fit *fit, size_t width, size_t height,
                                  bool ascii, char sign, struct pm_plot *out, struct pm_text *words,
                                  struct pm_error *err);

/* ---- ladders: the person's own dose response ---- */

struct pm_series_response {
    const char *line; /* what the doses are of */
    struct pm_dose dose;
    struct pm_dose_note *notes; /* dose in parts */
    size_t count;
    enum pm_stage stage; /* of the notes used */
    bool wanted;         /* a dose for an intensity was asked for, and can be told: */
    double intensity, value, low, high;
    struct pm_arena arena;
};
/* From the person's own intensity notes of one stage along a ladder; stage and model NULL: the
 * stage with most notes, intensity against the logarithm. intensity: asks for its dose, or NULL. */
enum pm_status pm_series_responded(struct pm_studio *studio, int64_t series, const char *stage,
                                   const char *model, const char *intensity,
                                   struct pm_series_response *out, struct pm_error *err);
void pm_series_response_release(struct pm_series_response *response);
void pm_series_response_say(const struct pm_series_response *response, char sign,
                            struct pm_text *out);
enum pm_status pm_series_response_plot(const struct pm_series_response *response, size_t width,
                                       size_t height, bool ascii, char sign, struct pm_plot *out,
                                       struct pm_text *words, struct pm_error *err);

#endif

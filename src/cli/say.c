/* SPDX-License-Identifier: MIT */
/* What commands say beside their answer, and text made fit for a terminal (cli.h). */
#include "cli.h"

#include "permille/base/json.h"
#include "permille/base/utf8.h"

#include <stdarg.h>
#include <string.h>

enum pm_status pm_cli_usage(struct pm_cli *cli, struct pm_error *err, const char *format, ...)
{
    va_list args;

    va_start(args, format);
    pm_failv(err, PM_INVALID, format, args);
    va_end(args);
    cli->wrong_usage = true;
    return PM_INVALID;
}

void pm_cli_say(struct pm_cli *cli, const char *format, ...)
{
    struct pm_text line = PM_TEXT_EMPTY, shown = PM_TEXT_EMPTY;
    va_list args;

    va_start(args, format);
    pm_text_addv(&line, format, args);
    va_end(args);
    pm_cli_add_shown(&shown, pm_text_get(&line));
    shown.failed = shown.failed || !pm_text_ok(&line);
    pm_text_release(&line);
    pm_cli_add_broken(&line, pm_text_get(&shown), cli->front->err_columns);
    pm_text_add_char(&line, '\n');
    if (cli->changing) {
        pm_text_add(&cli->said, pm_text_get(&line));
        cli->said.failed = cli->said.failed || !pm_text_ok(&line) || !pm_text_ok(&shown);
    } else {
        pm_cli_wait_clear(cli);
        fputs(pm_text_get(&line), cli->front->err);
    }
    pm_text_release(&line);
    pm_text_release(&shown);
}

bool pm_cli_tell_begin(struct pm_cli *cli, const char *sentence, struct pm_json *json)
{
    pm_cli_say(cli, "%s.", sentence);
    /* A sentence says something, or memory ran out while it was put together. */
    cli->out.failed = cli->out.failed || sentence[0] == '\0';
    if (cli->form != PM_CLI_JSON)
        return false;
    pm_json_init(json, &cli->out);
    pm_json_open(json, '{');
    pm_json_put_string(json, "sentence", sentence);
    return true;
}

void pm_cli_add_drawing(struct pm_cli *cli, char *const *rows, size_t count)
{
    for (size_t i = 0; i < count && !cli->linear; i++)
        pm_text_addf(&cli->out, "%s\n", rows[i]);
}

void pm_cli_add_shown(struct pm_text *out, const char *text)
{
    for (struct pm_glyph glyph = pm_utf8_next(text); glyph.length > 0;
         text += glyph.length, glyph = pm_utf8_next(text))
        if (glyph.shown)
            pm_text_add_bytes(out, glyph.bytes, glyph.length);
        else
            pm_text_add(out, *text == '\n' || *text == '\t' ? " " : "\xEF\xBF\xBD");
}

static bool is_plain(const struct pm_text *text)
{
    for (size_t i = 0; i < text->length; i++)
        if (text->data[i] != '\n' && (text->data[i] < ' ' || text->data[i] > '~'))
            return false;
    return true;
}

/* The bytes at `at` that stay as they are though they show nothing: a tab, a line's end. */
static size_t stays(const char *at)
{
    if (at[0] == '\n' || at[0] == '\t')
        return 1;
    return at[0] == '\r' && at[1] == '\n' ? 2 : 0;
}

void pm_cli_clean(struct pm_text *text)
{
    if (is_plain(text))
        return;
    struct pm_text raw = *text;
    const char *at = raw.data, *end = raw.data + raw.length;
    *text = (struct pm_text)PM_TEXT_EMPTY;
    while (at < end) {
        const size_t kept = stays(at);
        const struct pm_glyph glyph = pm_utf8_next(at);
        if (kept > 0)
            pm_text_add_bytes(text, at, kept);
        else if (glyph.shown)
            pm_text_add_bytes(text, glyph.bytes, glyph.length);
        else
            pm_text_add(text, "\xEF\xBF\xBD");
        at += kept > 0 ? kept : glyph.length > 0 ? glyph.length : 1; /* past a NUL, too */
    }
    text->failed = text->failed || raw.failed;
    pm_text_release(&raw);
}

/* ---- lines a terminal has room for ---- */

/* Bytes of the part of a line that is written first: up to a blank if there is one past `indent`.
 */
static size_t break_at(const char *line, size_t length, size_t indent, size_t room)
{
    const size_t fits = pm_utf8_fit(line, room);
    if (fits >= length)
        return length;
    for (size_t at = fits; at > indent; at--)
        if (line[at] == ' ')
            return at;
    return fits > 0 ? fits : length;
}

static void add_line_broken(struct pm_text *out, const char *line, size_t length, size_t columns)
{
    const size_t indent = strspn(line, " ") < columns / 2 ? strspn(line, " ") : 0;
    size_t part = break_at(line, length, indent, columns);

    while (part < length) {
        size_t written = part;
        while (written > 0 && line[written - 1] == ' ')
            written--;
        pm_text_add_bytes(out, line, written);
        pm_text_add_char(out, '\n');
        while (part < length && line[part] == ' ')
            part++;
        line += part;
        length -= part;
        for (size_t i = 0; i < indent && length > 0; i++)
            pm_text_add_char(out, ' ');
        part = break_at(line, length, 0, columns - indent);
    }
    pm_text_add_bytes(out, line, length);
}

void pm_cli_add_broken(struct pm_text *out, const char *text, size_t columns)
{
    if (columns == 0) {
        pm_text_add(out, text);
        return;
    }
    for (;;) {
        const size_t length = strcspn(text, "\n");
        add_line_broken(out, text, length, columns);
        if (text[length] == '\0')
            return;
        pm_text_add_char(out, '\n');
        text += length + 1;
    }
}

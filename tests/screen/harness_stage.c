/* SPDX-License-Identifier: MIT */
/* Stages: a program on a pseudo-terminal, read back through libvterm. */
#include "harness.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <vterm.h>

struct stage {
    struct stage *next;
    pid_t pid;
    int master;
    bool over; /* nothing more will come */
    bool waited;
    int status;
    int rows, columns;
    VTerm *vt;
    VTermScreen *screen;
    bool alternate, visible;
    int mouse;
    VTermPos cursor;
    struct pm_text log; /* all the program wrote */
    char line[8192];
};

/* All that are open. A forked child holds copies of them, which a leak checker must find reachable
 * when the child ends. */
static struct stage *stages;

/* ---- the child ------------------------------------------------------------------------------- */

static int run_job(const struct stage_spec *spec)
{
    if (spec->run != NULL)
        return spec->run(spec->context);
    execv(spec->program[0], spec->program);
    perror(spec->program[0]);
    return 127;
}

static void say(const char *text)
{
    ssize_t ignored = write(STDOUT_FILENO, text, strlen(text));
    (void)ignored;
}

/* As much of a shell as job control needs. */
static int run_shell(const struct stage_spec *spec)
{
    char line[64], note[32];
    int status, stops = 0;
    signal(SIGTTOU, SIG_IGN);
    pid_t job = fork();
    if (job == 0) {
        setpgid(0, 0);
        tcsetpgrp(STDIN_FILENO, getpid());
        signal(SIGTTOU, SIG_DFL);
        exit(run_job(spec));
    }
    setpgid(job, job);
    while (waitpid(job, &status, WUNTRACED) == job && WIFSTOPPED(status)) {
        tcsetpgrp(STDIN_FILENO, getpgrp());
        snprintf(note, sizeof note, "[stopped %d]\r\n", ++stops);
        say(note);
        if (read(STDIN_FILENO, line, sizeof line) <= 0)
            break;
        tcsetpgrp(STDIN_FILENO, job);
        kill(-job, SIGCONT);
    }
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

static void child(const struct stage_spec *spec)
{
    static const char *const foreign[] = {"LINES", "COLUMNS", "NO_COLOR", "ESCDELAY",
                                          "LANG",  "LC_ALL",  "LC_CTYPE", "LANGUAGE"};
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
        unsetenv(foreign[i]);
    setenv("LC_ALL", "C.UTF-8", 1);
    if (spec->term != NULL && !*spec->term)
        unsetenv("TERM");
    else
        setenv("TERM", spec->term != NULL ? spec->term : "xterm-256color", 1);
    for (size_t i = 0; spec->settings != NULL && spec->settings[i] != NULL; i++) {
        char *setting = strdup(spec->settings[i]);
        if (setting != NULL)
            putenv(setting); /* stays in the environment */
    }
    exit(spec->shell ? run_shell(spec) : run_job(spec));
}

/* ---- the emulator ---------------------------------------------------------------------------- */

static void send_all(struct stage *stage, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t sent = write(stage->master, bytes, length);
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent <= 0)
            return;
        bytes += sent;
        length -= (size_t)sent;
    }
}

static void on_output(const char *bytes, size_t length, void *user)
{
    send_all(user, bytes, length);
}

static int on_cursor(VTermPos pos, VTermPos old, int visible, void *user)
{
    struct stage *stage = user;
    (void)old;
    stage->cursor = pos;
    stage->visible = visible;
    return 1;
}

static int on_property(VTermProp property, VTermValue *value, void *user)
{
    struct stage *stage = user;
    if (property == VTERM_PROP_ALTSCREEN)
        stage->alternate = value->boolean;
    else if (property == VTERM_PROP_CURSORVISIBLE)
        stage->visible = value->boolean;
    else if (property == VTERM_PROP_MOUSE)
        stage->mouse = value->number;
    return 1;
}

static const VTermScreenCallbacks callbacks = {.movecursor = on_cursor, .settermprop = on_property};

struct stage *stage_start(const struct stage_spec *spec)
{
    struct winsize size = {.ws_row = (unsigned short)spec->rows,
                           .ws_col = (unsigned short)spec->columns};
    struct stage *stage = calloc(1, sizeof *stage);
    assert_non_null(stage);
    stage->next = stages;
    stages = stage;
    stage->rows = spec->rows;
    stage->columns = spec->columns;
    stage->vt = vterm_new(spec->rows, spec->columns);
    vterm_set_utf8(stage->vt, 1);
    vterm_output_set_callback(stage->vt, on_output, stage);
    stage->screen = vterm_obtain_screen(stage->vt);
    vterm_screen_enable_altscreen(stage->screen, 1);
    vterm_screen_set_callbacks(stage->screen, &callbacks, stage);
    vterm_screen_reset(stage->screen, 1);
    fflush(NULL); /* or the child would write our buffers once more */
    stage->pid = forkpty(&stage->master, NULL, NULL, &size);
    assert_true(stage->pid >= 0);
    if (stage->pid == 0)
        child(spec);
    return stage;
}

void stage_end(struct stage *stage)
{
    if (stage == NULL)
        return;
    if (!stage->waited) {
        kill(stage->pid, SIGKILL);
        close(stage->master);
        waitpid(stage->pid, NULL, 0);
    } else {
        close(stage->master);
    }
    struct stage **link = &stages;
    while (*link != stage)
        link = &(*link)->next;
    *link = stage->next;
    vterm_free(stage->vt);
    pm_text_release(&stage->log);
    free(stage);
}

/* ---- waiting --------------------------------------------------------------------------------- */

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Takes what the program writes within `patience` ms. False when nothing came. */
static bool pump(struct stage *stage, int patience)
{
    char bytes[16384];
    struct pollfd wait = {.fd = stage->master, .events = POLLIN};
    if (stage->over || poll(&wait, 1, patience) <= 0)
        return false;
    ssize_t got = read(stage->master, bytes, sizeof bytes);
    if (got <= 0) {
        stage->over = true; /* EIO: the other side is gone */
        return true;
    }
    pm_text_add_bytes(&stage->log, bytes, (size_t)got);
    vterm_input_write(stage->vt, bytes, (size_t)got);
    return true;
}

void stage_fail(struct stage *stage, const char *what)
{
    print_error("%s\ncursor %d,%d%s%s\n", what, stage->cursor.row, stage->cursor.col,
                stage->visible ? "" : " hidden", stage->over ? ", program gone" : "");
    for (int row = 0; row < stage->rows; row++)
        print_error("|%s\n", stage_row(stage, row));
    fail();
}

void stage_until(struct stage *stage, bool (*holds)(struct stage *stage, void *context),
                 void *context, const char *what)
{
    int64_t end = now_ms() + STAGE_DEADLINE;
    while (!holds(stage, context)) {
        int64_t left = end - now_ms();
        if (left <= 0 || stage->over) {
            print_error("waited in vain until %s\n", what);
            stage_fail(stage, "the screen is:");
        }
        pump(stage, (int)left);
    }
}

static bool seen(struct stage *stage, void *text)
{
    return stage_find(stage, text) >= 0;
}

static bool missed(struct stage *stage, void *text)
{
    return stage_find(stage, text) < 0;
}

void stage_sees(struct stage *stage, const char *text)
{
    stage_until(stage, seen, (void *)(uintptr_t)text, text);
}

void stage_misses(struct stage *stage, const char *text)
{
    stage_until(stage, missed, (void *)(uintptr_t)text, text);
}

static bool cursor_is(struct stage *stage, void *place)
{
    const VTermPos *pos = place;
    return stage->visible && stage->cursor.row == pos->row && stage->cursor.col == pos->col;
}

void stage_cursor_at(struct stage *stage, int row, int column)
{
    VTermPos place = {row, column};
    char what[64];
    snprintf(what, sizeof what, "the cursor is at %d,%d", row, column);
    stage_until(stage, cursor_is, &place, what);
}

int stage_status(struct stage *stage)
{
    int64_t end = now_ms() + STAGE_DEADLINE;
    while (!stage->over) {
        int64_t left = end - now_ms();
        if (left <= 0)
            stage_fail(stage, "the program does not end");
        pump(stage, (int)left);
    }
    if (!stage->waited)
        waitpid(stage->pid, &stage->status, 0);
    stage->waited = true;
    return stage->status;
}

bool stage_running(struct stage *stage)
{
    return !stage->waited && waitpid(stage->pid, NULL, WNOHANG) == 0;
}

/* Whether the program has read everything that was typed. Asked on its side of the terminal, which
 * must not stay open here, or its end would go unnoticed. */
static bool all_read(struct stage *stage)
{
    int waiting = 0;
    int fd = open(ptsname(stage->master), O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(fd >= 0);
    assert_int_equal(ioctl(fd, FIONREAD, &waiting), 0);
    close(fd);
    return waiting == 0;
}

void stage_taken(struct stage *stage)
{
    int64_t end = now_ms() + STAGE_DEADLINE;
    while (!all_read(stage)) {
        if (now_ms() > end || stage->over)
            stage_fail(stage, "the program does not read its keys");
        pump(stage, 1);
    }
}

/* ---- keys ------------------------------------------------------------------------------------ */

static VTermKey emulated_key(uint32_t code)
{
    static const VTermKey keys[] = {
        [PM_KEY_ENTER - PM_KEY_NONE] = VTERM_KEY_ENTER,
        [PM_KEY_ESC - PM_KEY_NONE] = VTERM_KEY_ESCAPE,
        [PM_KEY_TAB - PM_KEY_NONE] = VTERM_KEY_TAB,
        [PM_KEY_BACKSPACE - PM_KEY_NONE] = VTERM_KEY_BACKSPACE,
        [PM_KEY_INSERT - PM_KEY_NONE] = VTERM_KEY_INS,
        [PM_KEY_DELETE - PM_KEY_NONE] = VTERM_KEY_DEL,
        [PM_KEY_UP - PM_KEY_NONE] = VTERM_KEY_UP,
        [PM_KEY_DOWN - PM_KEY_NONE] = VTERM_KEY_DOWN,
        [PM_KEY_LEFT - PM_KEY_NONE] = VTERM_KEY_LEFT,
        [PM_KEY_RIGHT - PM_KEY_NONE] = VTERM_KEY_RIGHT,
        [PM_KEY_HOME - PM_KEY_NONE] = VTERM_KEY_HOME,
        [PM_KEY_END - PM_KEY_NONE] = VTERM_KEY_END,
        [PM_KEY_PAGE_UP - PM_KEY_NONE] = VTERM_KEY_PAGEUP,
        [PM_KEY_PAGE_DOWN - PM_KEY_NONE] = VTERM_KEY_PAGEDOWN,
    };
    if (code >= PM_KEY_F1)
        return (VTermKey)(VTERM_KEY_FUNCTION_0 + 1 + (int)(code - PM_KEY_F1));
    return keys[code - PM_KEY_NONE];
}

static void press(struct stage *stage, struct pm_key key)
{
    int mods = 0;
    mods |= key.mods & PM_MOD_CTRL ? VTERM_MOD_CTRL : 0;
    mods |= key.mods & PM_MOD_ALT ? VTERM_MOD_ALT : 0;
    mods |= key.mods & PM_MOD_SHIFT ? VTERM_MOD_SHIFT : 0;
    if (key.code > PM_KEY_NONE)
        vterm_keyboard_key(stage->vt, emulated_key(key.code), (VTermModifier)mods);
    else
        vterm_keyboard_unichar(stage->vt, key.code, (VTermModifier)mods);
}

void stage_keys(struct stage *stage, const char *names)
{
    while (*(names += strspn(names, " "))) {
        struct pm_key key;
        size_t length = strcspn(names, " ");
        if (!pm_key_read(names, length, &key))
            fail_msg("\"%.*s\" is no key", (int)length, names);
        press(stage, key);
        names += length;
    }
}

void stage_type(struct stage *stage, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        uint32_t code;
        size_t step = pm_utf8_decode(text, left, &code);
        vterm_keyboard_unichar(stage->vt, code, VTERM_MOD_NONE);
        text += step;
        left -= step;
    }
}

void stage_bytes(struct stage *stage, const char *bytes, size_t length)
{
    send_all(stage, bytes, length);
}

void stage_paste(struct stage *stage, const char *text)
{
    vterm_keyboard_start_paste(stage->vt);
    send_all(stage, text, strlen(text));
    vterm_keyboard_end_paste(stage->vt);
}

void stage_resize(struct stage *stage, int rows, int columns)
{
    struct winsize size = {.ws_row = (unsigned short)rows, .ws_col = (unsigned short)columns};
    stage->rows = rows;
    stage->columns = columns;
    vterm_set_size(stage->vt, rows, columns);
    assert_int_equal(ioctl(stage->master, TIOCSWINSZ, &size), 0);
}

void stage_signal(struct stage *stage, int number)
{
    pid_t job = tcgetpgrp(stage->master);
    assert_true(job > 0);
    assert_int_equal(kill(job, number), 0);
}

/* ---- looking --------------------------------------------------------------------------------- */

const char *stage_row(struct stage *stage, int row)
{
    char *out = stage->line;
    char *end = out;
    for (int column = 0; column < stage->columns;) {
        VTermScreenCell cell;
        VTermPos pos = {row, column};
        vterm_screen_get_cell(stage->screen, pos, &cell);
        if (cell.chars[0] == 0 || cell.chars[0] == (uint32_t)-1) {
            *out++ = ' ';
        } else {
            for (size_t i = 0; i < VTERM_MAX_CHARS_PER_CELL && cell.chars[i]; i++)
                out += pm_utf8_encode(cell.chars[i], out);
            if (cell.chars[0] != ' ')
                end = out;
        }
        column += cell.width > 1 ? cell.width : 1;
        if (out > stage->line + sizeof stage->line - 64)
            break;
    }
    *end = '\0';
    return stage->line;
}

int stage_find(struct stage *stage, const char *text)
{
    for (int row = 0; row < stage->rows; row++)
        if (strstr(stage_row(stage, row), text) != NULL)
            return row;
    return -1;
}

void stage_cursor(struct stage *stage, int *row, int *column, bool *visible)
{
    *row = stage->cursor.row;
    *column = stage->cursor.col;
    *visible = stage->visible;
}

static int palette_number(const VTermColor *colour, bool is_default)
{
    if (is_default)
        return -1;
    return VTERM_COLOR_IS_INDEXED(colour) ? colour->indexed.idx : -2;
}

struct stage_cell stage_cell(struct stage *stage, int row, int column)
{
    VTermScreenCell cell;
    VTermPos pos = {row, column};
    vterm_screen_get_cell(stage->screen, pos, &cell);
    struct stage_cell out = {
        .code = cell.chars[0] == (uint32_t)-1 ? 0 : cell.chars[0],
        .width = cell.width,
        .bold = cell.attrs.bold,
        .underline = cell.attrs.underline != VTERM_UNDERLINE_OFF,
        .reverse = cell.attrs.reverse,
        .foreground = palette_number(&cell.fg, VTERM_COLOR_IS_DEFAULT_FG(&cell.fg)),
        .background = palette_number(&cell.bg, VTERM_COLOR_IS_DEFAULT_BG(&cell.bg)),
    };
    VTermColor colour = cell.fg;
    vterm_screen_convert_color_to_rgb(stage->screen, &colour);
    out.rgb[0] = colour.rgb.red;
    out.rgb[1] = colour.rgb.green;
    out.rgb[2] = colour.rgb.blue;
    return out;
}

bool stage_alternate(const struct stage *stage)
{
    return stage->alternate;
}

int stage_mouse(const struct stage *stage)
{
    return stage->mouse;
}

/* The last place where the bytes stand in the log, plus one; 0 for none. */
static size_t last_place(const struct stage *stage, const char *bytes)
{
    size_t length = strlen(bytes);
    for (size_t at = stage->log.length; at >= length; at--)
        if (memcmp(stage->log.data + at - length, bytes, length) == 0)
            return at;
    return 0;
}

bool stage_brackets(const struct stage *stage)
{
    return last_place(stage, "\033[?2004h") > last_place(stage, "\033[?2004l");
}

void stage_modes(struct stage *stage, struct termios *modes)
{
    assert_int_equal(tcgetattr(stage->master, modes), 0);
}

long stage_writes(const struct stage *stage)
{
    char path[64], line[128];
    long count = -1;
    snprintf(path, sizeof path, "/proc/%ld/io", (long)stage->pid);
    FILE *file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        if (sscanf(line, "syscw: %ld", &count) == 1)
            break;
    if (file != NULL)
        fclose(file);
    return count;
}

size_t stage_sent(const struct stage *stage)
{
    return stage->log.length;
}

bool stage_wrote(const struct stage *stage, const char *bytes)
{
    return last_place(stage, bytes) > 0;
}

/* SPDX-License-Identifier: MIT */
/*
 * The terminal through curses. The only file that includes curses.h.
 *
 * Four decisions that are not obvious:
 *
 * - Signals are blocked and read from a signalfd beside the keyboard. Curses' own SIGWINCH handler
 *   loses the last resize when it arrives between two reads.
 * - Keys are fetched as bytes through a pad: reading from a window would repaint it, and bytes need
 *   no locale to be understood as UTF-8.
 * - Curses reads the keys and knows the terminal's words, but its screen is not used: it writes to
 *   the terminal after every movement of the cursor (_nc_mvcur flushes), some forty times for one
 *   preview. What is on the screen is remembered as a grid instead; the cells that differ are put
 *   into one buffer and sent at once.
 * - Giving the terminal back takes no memory: its bytes are known from the beginning, and endwin,
 *   which may ask for some, is not called.
 */
#ifndef NCURSES_WIDECHAR
#define NCURSES_WIDECHAR 1
#endif
#define NCURSES_NOMACROS 1
#include <curses.h>
#include <term.h>

/* Macros of term.h that would hide our names. */
#undef lines
#undef columns
#undef tab

#include "term.h"

#include "input.h"
#include "keyboard.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "plain.h"
#include "rescue.h"
#include "speech.h"
#include "wire.h"

#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/signalfd.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#define PASTE_PATIENT 1000 /* ms without a byte after which a paste counts as ended */
#define GAP           4    /* unchanged cells that are cheaper told again than jumped over */
#define ROWS_MOST     500  /* a terminal may claim any size; beyond these nothing is shown */
#define COLUMNS_MOST  1000

static const char paste_on[] = "\033[?2004h";
static const char paste_off[] = "\033[?2004l";
static const char mouse_on[] = "\033[?1000h\033[?1006h";
static const char mouse_off[] = "\033[?1006l\033[?1000l";

/* ---- how roles look -------------------------------------------------------------------------- */

/*
 * The accents, by theme. Those for 256 colours have a contrast (WCAG 2.1) of at least 4:1 against
 * black and against white, of 7:1 against black, of 5.5:1 against white; those for 8 colours are
 * the ones that stay readable there in common palettes. None is needed to understand anything.
 */
enum accent { PLAIN, RED, GREEN, MAGENTA, CYAN, ORANGE, ACCENTS };

static const short accent_8[][ACCENTS] = {
    [PM_THEME_BOTH] = {-1, COLOR_RED, COLOR_GREEN, COLOR_MAGENTA, COLOR_CYAN, COLOR_MAGENTA},
    [PM_THEME_DARK] = {-1, COLOR_RED, COLOR_GREEN, COLOR_MAGENTA, COLOR_CYAN, COLOR_YELLOW},
    [PM_THEME_LIGHT] = {-1, COLOR_RED, COLOR_BLUE, COLOR_MAGENTA, COLOR_BLUE, COLOR_RED},
};
static const short accent_256[][ACCENTS] = {
    [PM_THEME_BOTH] = {-1, 161, 28, 163, 30, 130},
    [PM_THEME_DARK] = {-1, 203, 78, 213, 80, 215},
    [PM_THEME_LIGHT] = {-1, 124, 22, 90, 23, 94},
};

/* The one place where a role gets its looks. */
static const struct {
    attr_t attributes;
    enum accent accent;
} looks[PM_ROLE_COUNT] = {
    [PM_ROLE_NORMAL] = {A_NORMAL, PLAIN},
    [PM_ROLE_HEADING] = {A_BOLD, PLAIN},
    [PM_ROLE_FAINT] = {A_DIM, PLAIN},
    [PM_ROLE_RULE] = {A_DIM, PLAIN},
    [PM_ROLE_SELECTED] = {A_REVERSE | A_BOLD, PLAIN},
    [PM_ROLE_EDITING] = {A_UNDERLINE | A_BOLD, PLAIN},
    [PM_ROLE_PREVIEW] = {A_BOLD, CYAN},
    [PM_ROLE_GOOD] = {A_NORMAL, GREEN},
    [PM_ROLE_WARNING] = {A_BOLD, ORANGE},
    [PM_ROLE_ERROR] = {A_BOLD, RED},
    [PM_ROLE_TRACE] = {A_NORMAL, MAGENTA},
    [PM_ROLE_HELD] = {A_BOLD, PLAIN},
    [PM_ROLE_CORE] = {A_NORMAL, GREEN},
    [PM_ROLE_CARRIER] = {A_NORMAL, CYAN},
    [PM_ROLE_ACCORD] = {A_UNDERLINE, PLAIN},
    [PM_ROLE_BAR] = {A_NORMAL, CYAN},
    [PM_ROLE_KEY] = {A_BOLD, PLAIN},
    [PM_ROLE_ROW] = {A_UNDERLINE | A_BOLD, PLAIN},
};

struct pm_term {
    SCREEN *screen;
    WINDOW *input; /* a pad: reading from it repaints nothing */
    int signals;   /* signalfd */
    sigset_t old_mask;
    struct termios modes; /* as they were found */
    bool utf8;
    short colours; /* 0, 8 or 256 */
    struct pm_term_manner manner;
    int rows, columns;
    struct pm_grid shown;          /* what the terminal was last told */
    bool all;                      /* tell it everything next time */
    int row, column;               /* where its cursor stands; -1: not known */
    int cursor_row, cursor_column; /* where the person's cursor was last */
    const struct pm_cell *look;    /* the last cell that was told: its role is in force */
    struct pm_wire wire;           /* what will be sent next */
    char back[PM_RESCUE_BYTES];    /* gives the terminal back */
    size_t back_length;
    bool away; /* the terminal is given back for a while */
    bool dead; /* the terminal is gone */
    struct pm_keyboard keyboard;
};

/* ---- keys ------------------------------------------------------------------------------------ */

static const struct {
    int code;
    uint32_t key;
    unsigned mods;
} curses_keys[] = {
    {KEY_UP, PM_KEY_UP, 0},
    {KEY_DOWN, PM_KEY_DOWN, 0},
    {KEY_LEFT, PM_KEY_LEFT, 0},
    {KEY_RIGHT, PM_KEY_RIGHT, 0},
    {KEY_HOME, PM_KEY_HOME, 0},
    {KEY_FIND, PM_KEY_HOME, 0},
    {KEY_END, PM_KEY_END, 0},
    {KEY_SELECT, PM_KEY_END, 0},
    {KEY_LL, PM_KEY_END, 0},
    {KEY_NPAGE, PM_KEY_PAGE_DOWN, 0},
    {KEY_PPAGE, PM_KEY_PAGE_UP, 0},
    {KEY_A1, PM_KEY_HOME, 0},
    {KEY_A3, PM_KEY_PAGE_UP, 0},
    {KEY_C1, PM_KEY_END, 0},
    {KEY_C3, PM_KEY_PAGE_DOWN, 0},
    {KEY_IC, PM_KEY_INSERT, 0},
    {KEY_DC, PM_KEY_DELETE, 0},
    {KEY_BACKSPACE, PM_KEY_BACKSPACE, 0},
    {KEY_ENTER, PM_KEY_ENTER, 0},
    {KEY_BTAB, PM_KEY_TAB, PM_MOD_SHIFT},
    {KEY_SR, PM_KEY_UP, PM_MOD_SHIFT},
    {KEY_SF, PM_KEY_DOWN, PM_MOD_SHIFT},
    {KEY_SLEFT, PM_KEY_LEFT, PM_MOD_SHIFT},
    {KEY_SRIGHT, PM_KEY_RIGHT, PM_MOD_SHIFT},
    {KEY_SHOME, PM_KEY_HOME, PM_MOD_SHIFT},
    {KEY_SEND, PM_KEY_END, PM_MOD_SHIFT},
    {KEY_SNEXT, PM_KEY_PAGE_DOWN, PM_MOD_SHIFT},
    {KEY_SPREVIOUS, PM_KEY_PAGE_UP, PM_MOD_SHIFT},
    {KEY_SDC, PM_KEY_DELETE, PM_MOD_SHIFT},
    {KEY_SIC, PM_KEY_INSERT, PM_MOD_SHIFT},
};

/* Keys with modifiers have no fixed codes, but names in the terminal's description: "kUP5" is up
 * with xterm's modifier parameter 5. */
static bool named_key(int code, struct pm_key *out)
{
    static const struct {
        const char *name;
        char final[3];
    } names[] = {{"kUP", "A"},  {"kDN", "B"},  {"kRIT", "C"}, {"kLFT", "D"},  {"kEND", "F"},
                 {"kHOM", "H"}, {"kIC", "2~"}, {"kDC", "3~"}, {"kPRV", "5~"}, {"kNXT", "6~"}};
    const char *name = keyname(code);
    for (size_t i = 0; name != NULL && i < sizeof names / sizeof *names; i++) {
        size_t length = strlen(names[i].name);
        if (strncmp(name, names[i].name, length) != 0)
            continue;
        char parameter = name[length] ? name[length] : '2'; /* without a number it is Shift */
        char sequence[16];
        int used =
            names[i].final[1]
                ? snprintf(sequence, sizeof sequence, "[%c;%c~", names[i].final[0], parameter)
                : snprintf(sequence, sizeof sequence, "[1;%c%s", parameter, names[i].final);
        return pm_sequence_key(sequence, (size_t)used, out);
    }
    return false;
}

static bool curses_key(int code, struct pm_key *out)
{
    for (size_t i = 0; i < sizeof curses_keys / sizeof *curses_keys; i++) {
        if (curses_keys[i].code == code) {
            *out = pm_key_make(curses_keys[i].key, curses_keys[i].mods);
            return true;
        }
    }
    if (code >= KEY_F(1) && code <= KEY_F(12)) {
        *out = pm_key_make(PM_KEY_F1 + (uint32_t)(code - KEY_F(1)), 0);
        return true;
    }
    return named_key(code, out);
}

static int next_code(void *context)
{
    const struct pm_term *term = context;
    int code = wgetch(term->input);
    return code == ERR ? PM_NO_BYTE : code;
}

/* ---- opening and closing --------------------------------------------------------------------- */

static const int told[] = {SIGWINCH, SIGTERM, SIGHUP,  SIGINT,  SIGTSTP,
                           SIGCONT,  SIGUSR1, SIGUSR2, SIGALRM, SIGXCPU};
#define TOLD (sizeof told / sizeof *told)

static const char *capability(const char *name)
{
    char *copy = pm_strdup(name); /* the call wants its name writable */
    char *value = copy != NULL ? tigetstr(copy) : NULL;
    pm_free(copy);
    return value == (char *)-1 ? NULL : value;
}

/* A capability without its padding ("$<5>"), which a crash cannot wait for. */
static void add_plain(struct pm_text *out, const char *text)
{
    while (text != NULL && *text) {
        if (text[0] == '$' && text[1] == '<') {
            text += strcspn(text, ">");
            text += *text == '>';
            continue;
        }
        pm_text_add_char(out, *text++);
    }
}

static void arm_rescue(struct pm_term *term)
{
    static const char *const names[] = {"rmkx", "sgr0", "cnorm", "rmcup"};
    struct pm_text bytes = PM_TEXT_EMPTY;
    pm_text_add(&bytes, paste_off);
    pm_text_add(&bytes, term->manner.mouse ? mouse_off : "");
    /* Lines are written where the shell's are: there is no other screen to leave. */
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (!term->manner.lines || strcmp(names[i], "rmcup") != 0)
            add_plain(&bytes, capability(names[i]));
    term->back_length = bytes.length < sizeof term->back ? bytes.length : sizeof term->back;
    memcpy(term->back, pm_text_get(&bytes), term->back_length);
    pm_text_release(&bytes);
    pm_rescue_arm(&term->modes, term->back, term->back_length);
}

static sigset_t told_set(void)
{
    sigset_t set;
    sigemptyset(&set);
    for (size_t i = 0; i < TOLD; i++)
        sigaddset(&set, told[i]);
    return set;
}

static enum pm_status check_terminal(bool lines, struct pm_error *err)
{
    const char *name = getenv("TERM");
    int found;
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return pm_fail(err, PM_REFUSED,
                       "The editor needs a terminal for input and output; for scripts there are "
                       "commands, see permille --help.");
    if (name == NULL || !*name)
        return pm_fail(err, PM_REFUSED,
                       "TERM is not set, so the terminal's kind is unknown. Try: "
                       "TERM=xterm-256color permille");
    char *copy = pm_strdup(name);
    if (copy == NULL)
        return pm_fail_memory(err);
    bool known = setupterm(copy, STDOUT_FILENO, &found) == OK;
    bool able = known && (lines || (capability("cup") != NULL &&
                                    (capability("clear") != NULL || capability("ed") != NULL)));
    pm_free(copy);
    if (known)
        del_curterm(cur_term);
    if (!known)
        return pm_fail(err, PM_REFUSED,
                       "The terminal kind TERM=%s is not known here. Try: TERM=xterm-256color "
                       "permille",
                       name);
    if (!able)
        return pm_fail(err, PM_REFUSED,
                       "The terminal kind TERM=%s cannot place a cursor. Try: TERM=xterm-256color "
                       "permille",
                       name);
    return PM_OK;
}

static bool set(const char *variable)
{
    const char *value = getenv(variable);
    return value != NULL && *value;
}

/* When nobody has said which characters the terminal shows, it is taken for what terminals are
 * today; the same when UTF-8 is asked for in a language that is not installed. A locale that says
 * otherwise is believed. */
static bool locale_is_utf8(void)
{
    const char *names[] = {getenv("LC_ALL"), getenv("LC_CTYPE"), getenv("LANG")};
    const char *wanted = NULL;
    for (size_t i = 0; i < 3 && wanted == NULL; i++)
        wanted = names[i] != NULL && *names[i] ? names[i] : NULL;
    bool found = setlocale(LC_CTYPE, "") != NULL;
    if (wanted == NULL ||
        (!found && (strcasestr(wanted, "utf-8") != NULL || strcasestr(wanted, "utf8") != NULL)))
        setlocale(LC_CTYPE, "C.UTF-8");
    return strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

static void colours_start(struct pm_term *term)
{
    if (set("NO_COLOR") || !has_colors() || start_color() == ERR || use_default_colors() == ERR)
        return;
    if (COLORS >= 256)
        term->colours = 256;
    else if (COLORS >= 8)
        term->colours = 8;
}

/* Without colours of its own the theme leaves the terminal's. */
static void colours_choose(struct pm_term *term)
{
    const enum pm_theme theme = term->manner.theme;
    for (short i = PLAIN + 1; i < ACCENTS && term->colours && theme != PM_THEME_MONOCHROME; i++)
        init_pair(i, term->colours == 256 ? accent_256[theme][i] : accent_8[theme][i], -1);
}

void pm_term_theme(struct pm_term *term, enum pm_theme theme)
{
    term->manner.theme = theme;
    colours_choose(term);
    term->all = term->all || !term->manner.lines;
}

bool pm_term_lines(const struct pm_term *term)
{
    return term->manner.lines;
}

static int within(int value, int most)
{
    return value < most ? value : most;
}

static void read_size(struct pm_term *term)
{
    struct winsize size;
    if (term->manner.lines) {
        term->rows = PM_SPEECH_ROWS;
        term->columns = PM_SPEECH_COLUMNS;
        return;
    }
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0) {
        term->rows = within(size.ws_row, ROWS_MOST);
        term->columns = within(size.ws_col, COLUMNS_MOST);
    }
}

/* ---- sending --------------------------------------------------------------------------------- */

/* Curses hands over capabilities byte by byte, without a word about the terminal they are for. */
static struct pm_term *addressee;

static int take_byte(int byte)
{
    pm_wire_byte(&addressee->wire, (char)byte);
    return byte;
}

static void add_capability(struct pm_term *term, const char *bytes)
{
    addressee = term;
    if (bytes != NULL)
        tputs(bytes, 1, take_byte);
}

/* What has the focus is not to be overlooked: nothing in it is faint. */
static attr_t attributes_of(const struct pm_cell *cell)
{
    const attr_t own = looks[cell->role].attributes, over = looks[cell->overlay].attributes;
    return over & A_BOLD ? (own & ~A_DIM) | over : own | over;
}

static void add_look(struct pm_term *term, attr_t attributes, short pair)
{
    addressee = term;
    vid_puts(attributes, pair, NULL, take_byte);
}

static void place(struct pm_term *term, int row, int column)
{
    if (term->row == row && term->column == column)
        return;
    if (!move_standout_mode) {
        add_look(term, A_NORMAL, 0);
        term->look = NULL;
    }
    add_capability(term, tiparm(cursor_address, row, column));
    term->row = row;
    term->column = column;
}

/* After the size has changed, or others have used the screen: everything is told again. */
static void take_size(struct pm_term *term)
{
    read_size(term);
    term->all = true;
}

static void screen_start(struct pm_term *term)
{
    raw();
    noecho();
    nonl();
    term->input = newpad(1, 1);
    if (term->input != NULL) {
        keypad(term->input, TRUE);
        wtimeout(term->input, 0);
    }
    keyok(KEY_MOUSE, FALSE); /* its bytes belong to a sequence that is to be dropped whole */
    define_key("\033[200~", PM_PASTE_BEGINS);
    define_key("\033[201~", PM_PASTE_ENDS);
    colours_start(term);
    colours_choose(term);
    term->rows = within(LINES, ROWS_MOST);
    term->columns = within(COLS, COLUMNS_MOST);
    take_size(term);
}

static void screen_take(struct pm_term *term)
{
    if (!term->manner.lines)
        add_capability(term, enter_ca_mode);
    add_capability(term, keypad_xmit);
    add_capability(term, cursor_normal);
    pm_wire_bytes(&term->wire, paste_on, sizeof paste_on - 1);
    if (term->manner.mouse)
        pm_wire_bytes(&term->wire, mouse_on, sizeof mouse_on - 1);
    pm_wire_flush(&term->wire);
}

static void restore(const char *variable, const char *value)
{
    if (value != NULL)
        setenv(variable, value, 1);
    else
        unsetenv(variable);
}

/* Curses believes the environment before it asks the terminal, which may claim any size: a screen
 * that nobody uses stays small. */
static SCREEN *small_screen(void)
{
    SCREEN *screen = NULL;
    const char *rows = getenv("LINES"), *columns = getenv("COLUMNS");
    char *old_rows = rows != NULL ? pm_strdup(rows) : NULL;
    char *old_columns = columns != NULL ? pm_strdup(columns) : NULL;
    if ((rows == NULL || old_rows != NULL) && (columns == NULL || old_columns != NULL) &&
        setenv("LINES", "24", 1) == 0 && setenv("COLUMNS", "80", 1) == 0)
        screen = newterm(NULL, stdout, stdin);
    int failure = errno;
    restore("LINES", old_rows);
    restore("COLUMNS", old_columns);
    pm_free(old_rows);
    pm_free(old_columns);
    errno = failure;
    return screen;
}

static enum pm_status term_start(struct pm_term *term, struct pm_error *err)
{
    sigset_t signals = told_set();
    enum pm_status status = check_terminal(term->manner.lines, err);
    if (status != PM_OK)
        return status;
    if (!pm_grid_init(&term->shown, 1, 1))
        return pm_fail_memory(err);
    term->utf8 = locale_is_utf8();
    if (tcgetattr(STDIN_FILENO, &term->modes) != 0)
        return pm_fail(err, PM_IO, "The terminal does not answer: %s.", strerror(errno));
    sigprocmask(SIG_BLOCK, &signals, &term->old_mask);
    term->signals = signalfd(-1, &signals, SFD_NONBLOCK | SFD_CLOEXEC);
    if (!set("ESCDELAY"))
        set_escdelay(25);
    if (term->signals >= 0)
        term->screen = small_screen();
    if (term->screen == NULL) {
        sigprocmask(SIG_SETMASK, &term->old_mask, NULL);
        return pm_fail(err, PM_IO, "The terminal could not be taken over: %s.", strerror(errno));
    }
    set_term(term->screen);
    arm_rescue(term);
    screen_start(term);
    if (term->input == NULL) {
        pm_fail_memory(err);
        return PM_NOMEM;
    }
    if (term->manner.lines)
        add_capability(term, exit_ca_mode); /* curses has entered it by itself */
    screen_take(term);
    return PM_OK;
}

enum pm_status pm_term_open(struct pm_term **out, const struct pm_term_manner *manner,
                            struct pm_error *err)
{
    struct pm_term *term = pm_alloc_array(1, sizeof *term);
    if (term == NULL)
        return pm_fail_memory(err);
    term->signals = -1;
    term->manner = *manner;
    term->keyboard = (struct pm_keyboard){.next = next_code, .named = curses_key, .context = term};
    enum pm_status status = term_start(term, err);
    if (status != PM_OK) {
        pm_term_close(term);
        return status;
    }
    *out = term;
    return PM_OK;
}

void pm_term_close(struct pm_term *term)
{
    if (term == NULL)
        return;
    if (term->screen != NULL) {
        pm_term_leave(term);
        if (term->input != NULL)
            delwin(term->input);
        delscreen(term->screen);
        /* Curses catches these as well; from now on they mean what they mean to any process. */
        signal(SIGINT, SIG_DFL);
        signal(SIGTERM, SIG_DFL);
        signal(SIGTSTP, SIG_DFL);
        signal(SIGWINCH, SIG_DFL);
        pm_rescue_disarm();
        sigprocmask(SIG_SETMASK, &term->old_mask, NULL);
    }
    if (term->signals >= 0)
        close(term->signals);
    pm_grid_release(&term->shown);
    pm_keyboard_release(&term->keyboard);
    pm_free(term);
}

void pm_term_leave(struct pm_term *term)
{
    if (term->away)
        return;
    term->away = true;
    term->wire.length = 0;
    if (!term->manner.lines)
        place(term, term->rows - 1, 0);
    add_look(term, A_NORMAL, 0);
    pm_wire_bytes(&term->wire, term->back, term->back_length);
    pm_wire_bytes(&term->wire, "\r", 1);
    pm_wire_flush(&term->wire);
    tcsetattr(STDIN_FILENO, TCSADRAIN, &term->modes);
    pm_rescue_pause();
}

void pm_term_return(struct pm_term *term)
{
    if (!term->away)
        return;
    term->away = false;
    pm_rescue_resume();
    reset_prog_mode();
    take_size(term);
    screen_take(term);
}

void pm_term_suspend(struct pm_term *term)
{
    sigset_t stop;
    struct sigaction plain = {.sa_handler = SIG_DFL}, old;
    pm_term_leave(term);
    sigemptyset(&stop);
    sigaddset(&stop, SIGTSTP);
    sigaction(SIGTSTP, &plain, &old);
    /* The whole group, as the terminal does it: a program that waits for us must stop as well. */
    kill(0, SIGTSTP);
    sigprocmask(SIG_UNBLOCK, &stop, NULL); /* here it stops, and goes on when told to continue */
    sigprocmask(SIG_BLOCK, &stop, NULL);
    sigaction(SIGTSTP, &old, NULL);
    pm_term_return(term);
}

void pm_term_size(const struct pm_term *term, int *rows, int *columns)
{
    *rows = term->rows;
    *columns = term->columns;
}

bool pm_term_utf8(const struct pm_term *term)
{
    return term->utf8;
}

/* ---- painting -------------------------------------------------------------------------------- */

/* Whether the next cell follows where this one ends on every terminal: not all have the same
 * opinion of how wide emoji, ideographs and combined characters are. */
static bool is_certain(const struct pm_cell *cell, uint32_t code, size_t used)
{
    return cell->width == 1 && used == cell->length && code < 0x2E80;
}

static void add_cell(struct pm_term *term, const struct pm_cell *cell)
{
    uint32_t code;
    size_t used = pm_utf8_decode(cell->bytes, cell->length, &code);
    enum accent accent = looks[cell->role].accent;
    if (looks[cell->overlay].accent != PLAIN)
        accent = looks[cell->overlay].accent;
    if (term->look == NULL || term->look->role != cell->role ||
        term->look->overlay != cell->overlay)
        add_look(term, attributes_of(cell),
                 term->colours && term->manner.theme != PM_THEME_MONOCHROME ? (short)accent : 0);
    term->look = cell;
    if (!term->utf8) {
        pm_wire_byte(&term->wire, pm_plain_sign(code, cell));
        if (cell->width == 2)
            pm_wire_byte(&term->wire, ' ');
    } else {
        pm_wire_bytes(&term->wire, cell->bytes, cell->length);
    }
    term->column += cell->width;
    if (term->column >= term->columns || (term->utf8 && !is_certain(cell, code, used)))
        term->row = -1;
}

/* A blank that looks like one after the line was erased. */
static bool is_blank(const struct pm_cell *cell)
{
    const attr_t seen = A_REVERSE | A_UNDERLINE;
    return cell->length == 1 && cell->bytes[0] == ' ' && !(looks[cell->role].attributes & seen) &&
           !(looks[cell->overlay].attributes & seen);
}

static bool same_cell(const struct pm_cell *a, const struct pm_cell *b)
{
    return memcmp(a, b, sizeof *a) == 0 || (is_blank(a) && is_blank(b));
}

/* Where the blanks begin that reach to the end of the row. */
static int blank_end(const struct pm_cell *cells, int columns)
{
    while (columns > 0 && is_blank(&cells[columns - 1]))
        columns--;
    return columns;
}

/* The column from which on erasing is shorter than writing blanks over what is there. */
static int erase_from(const struct pm_cell *cells, const struct pm_cell *shown, int columns)
{
    int end = blank_end(cells, columns);
    return blank_end(shown, columns) > end + GAP ? end : columns;
}

static void paint_row(struct pm_term *term, int row, const struct pm_cell *cells,
                      const struct pm_cell *shown, int columns)
{
    int end = clr_eol != NULL ? erase_from(cells, shown, columns) : columns;
    for (int column = 0; column < end; column++) {
        if (cells[column].width == 0 || same_cell(&cells[column], &shown[column]))
            continue;
        if (term->row == row && column > term->column && column - term->column <= GAP)
            for (int between = term->column; between < column; between++)
                if (cells[between].width > 0)
                    add_cell(term, &cells[between]);
        place(term, row, column);
        add_cell(term, &cells[column]);
    }
    if (end == columns)
        return;
    place(term, row, end);
    add_look(term, A_NORMAL, 0);
    term->look = NULL;
    add_capability(term, clr_eol);
}

/* The whole screen blank, for a beginning. */
static void erase_all(struct pm_term *term)
{
    add_capability(term, exit_attribute_mode); /* whatever others left in force */
    add_look(term, A_NORMAL, 0);
    term->look = NULL;
    if (change_scroll_region != NULL) /* curses believes that the screen is smaller */
        add_capability(term, tiparm(change_scroll_region, 0, term->rows - 1));
    if (clear_screen == NULL)
        add_capability(term, tiparm(cursor_address, 0, 0));
    add_capability(term, clear_screen != NULL ? clear_screen : clr_eos);
    term->row = clear_screen != NULL ? 0 : -1;
    term->column = 0;
    if (term->shown.cells != NULL)
        pm_grid_clear(&term->shown);
}

/* A terminal that moves its screen up when its last cell is written does without it. */
static bool last_cell_scrolls(void)
{
    return auto_right_margin && !eat_newline_glitch;
}

static void paint_rows(struct pm_term *term, const struct pm_grid *grid, struct pm_cell *blanks)
{
    int rows = within(grid->rows, term->rows), columns = within(grid->columns, term->columns);
    for (int row = 0; row < rows; row++) {
        const struct pm_cell *cells = pm_grid_cell(grid, row, 0);
        size_t first = (size_t)row * (size_t)grid->columns;
        struct pm_cell *shown = term->shown.cells != NULL ? term->shown.cells + first : blanks;
        bool cut = row == term->rows - 1 && columns == term->columns && last_cell_scrolls();
        paint_row(term, row, cells, shown, cut ? columns - 1 : columns);
        if (term->shown.cells != NULL)
            memcpy(shown, cells, (size_t)grid->columns * sizeof *cells);
    }
}

/* Where only ASCII can be shown, what is none is a mark, once for each character. */
static void write_line(struct pm_term *term, const char *line, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const unsigned char byte = (unsigned char)line[i];
        if (term->utf8 || byte < 0x80)
            pm_wire_byte(&term->wire, line[i]);
        else if (byte >= 0xC0)
            pm_wire_byte(&term->wire, '?');
    }
    pm_wire_bytes(&term->wire, "\r\n", 2);
}

/* What changed, or all of it when all was asked for. */
static void speak(struct pm_term *term, const struct pm_grid *grid)
{
    struct pm_text lines = PM_TEXT_EMPTY;
    if (grid->speech != NULL)
        pm_speech_new(grid->speech, term->all, &lines);
    term->all = false;
    for (const char *at = pm_text_get(&lines); *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        write_line(term, at, length);
        at += length + (at[length] == '\n');
    }
    pm_text_release(&lines);
    pm_wire_flush(&term->wire);
}

void pm_term_paint(struct pm_term *term, const struct pm_grid *grid)
{
    static struct pm_cell blanks[COLUMNS_MOST]; /* of length 0: no cell is like them */
    if (term->away || term->dead)
        return;
    if (term->manner.lines) {
        speak(term, grid);
        return;
    }
    if (grid->rows != term->shown.rows || grid->columns != term->shown.columns) {
        /* Without memory to remember it, every paint tells everything. */
        if (!pm_grid_resize(&term->shown, grid->rows, grid->columns))
            pm_grid_release(&term->shown);
        term->all = true;
    }
    if (term->all)
        erase_all(term);
    paint_rows(term, grid, blanks);
    term->all = term->shown.cells == NULL;
    if (grid->cursor_row >= 0) {
        term->cursor_row = grid->cursor_row;
        term->cursor_column = grid->cursor_column;
    }
    place(term, within(term->cursor_row, term->rows - 1),
          within(term->cursor_column, term->columns - 1));
    term->look = NULL; /* its grid may be gone by the next time */
    pm_wire_flush(&term->wire);
}

void pm_term_repaint(struct pm_term *term)
{
    term->all = true;
}

void pm_term_copy(struct pm_term *term, const char *text)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    struct pm_text out = PM_TEXT_EMPTY;
    size_t length = strlen(text);
    pm_text_add(&out, "\033]52;c;");
    for (size_t i = 0; i < length; i += 3) {
        unsigned char in[3] = {0};
        size_t count = length - i < 3 ? length - i : 3;
        memcpy(in, text + i, count);
        pm_text_add_char(&out, digits[in[0] >> 2]);
        pm_text_add_char(&out, digits[(in[0] & 3) << 4 | in[1] >> 4]);
        pm_text_add_char(&out, count > 1 ? digits[(in[1] & 15) << 2 | in[2] >> 6] : '=');
        pm_text_add_char(&out, count > 2 ? digits[in[2] & 63] : '=');
    }
    pm_text_add(&out, "\a");
    if (pm_text_ok(&out) && !term->dead)
        pm_wire_send(pm_text_get(&out), out.length);
    pm_text_release(&out);
}

/* ---- events ---------------------------------------------------------------------------------- */

static bool read_signal(struct pm_term *term, struct pm_event *event)
{
    struct signalfd_siginfo info;
    if (read(term->signals, &info, sizeof info) != sizeof info)
        return false;
    switch (info.ssi_signo) {
    case SIGWINCH:
        take_size(term);
        event->kind = PM_EVENT_RESIZE;
        break;
    case SIGCONT:
        /* Others may have used the terminal in the meantime, and left it as they like it. */
        reset_prog_mode();
        take_size(term);
        event->kind = PM_EVENT_RESIZE;
        break;
    case SIGTSTP:
        event->kind = PM_EVENT_STOP;
        break;
    default:
        event->kind = PM_EVENT_END;
        event->signal = (int)info.ssi_signo;
        break;
    }
    event->rows = term->rows;
    event->columns = term->columns;
    return true;
}

static int64_t milliseconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void end_event(struct pm_term *term, struct pm_event *event)
{
    term->dead = true;
    event->kind = PM_EVENT_END;
    event->signal = SIGHUP;
}

void pm_term_next(struct pm_term *term, int timeout, struct pm_event *event)
{
    int64_t end = milliseconds() + timeout;
    int empty = 0; /* times the keyboard was said to have something and had nothing */
    for (;;) {
        *event = (struct pm_event){.kind = PM_EVENT_NONE};
        /* Curses may hold keys that it has read already, so look before waiting. */
        if (read_signal(term, event) || pm_keyboard_read(&term->keyboard, event))
            return;
        bool heard = term->keyboard.heard;
        event->kind = PM_EVENT_NONE;
        if (heard) {
            empty = 0;
            continue;
        }
        int64_t left = timeout < 0 ? -1 : end - milliseconds();
        if (timeout >= 0 && left < 0)
            left = 0;
        if (term->keyboard.pasting && (left < 0 || left > PASTE_PATIENT))
            left = PASTE_PATIENT;
        struct pollfd wait[2] = {{.fd = STDIN_FILENO, .events = POLLIN},
                                 {.fd = term->signals, .events = POLLIN}};
        int ready = poll(wait, 2, (int)left);
        if (ready == 0 && term->keyboard.pasting && left > 0) {
            if (pm_keyboard_pasted(&term->keyboard, event))
                return;
            continue;
        }
        if (ready == 0)
            return;
        bool gone = wait[0].revents & (POLLHUP | POLLERR | POLLNVAL);
        empty = wait[0].revents & POLLIN ? empty + 1 : 0;
        if (ready > 0 && !wait[1].revents && (gone || empty > 2)) {
            end_event(term, event);
            return;
        }
    }
}

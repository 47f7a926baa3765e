/* SPDX-License-Identifier: MIT */
/* Keys, their names, escape sequences, pasted text, the line editor, tables of actions. */
#include "harness.h"
#include "sample.h"

#include "src/tui/kit/action.h"
#include "src/tui/kit/field.h"
#include "src/tui/kit/input.h"

#include <string.h>

static struct pm_key key(const char *name)
{
    struct pm_key out;
    if (!pm_key_read(name, strlen(name), &out))
        fail_msg("\"%s\" is no key", name);
    return out;
}

/* ---- names ----------------------------------------------------------------------------------- */

static void names_are_read_back(void **state)
{
    (void)state;
    static const uint32_t codes[] = {
        'a',       'A',          '?',         '#',           ' ',          0xE4,
        0x9999,    PM_KEY_ENTER, PM_KEY_ESC,  PM_KEY_TAB,    PM_KEY_UP,    PM_KEY_PAGE_DOWN,
        PM_KEY_F1, PM_KEY_F12,   PM_KEY_HOME, PM_KEY_DELETE, PM_KEY_INSERT};
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        for (unsigned mods = 0; mods < 8; mods++) {
            struct pm_key made = pm_key_make(codes[i], mods), back;
            char name[PM_KEY_TEXT];
            pm_key_name(made, name);
            assert_true(pm_key_read(name, strlen(name), &back));
            assert_true(pm_key_equal(made, back));
        }
    }
    assert_true(pm_key_equal(key("CTRL-z"), key("ctrl-Z")));
    assert_true(pm_key_equal(key("alt-ctrl-x"), key("Ctrl-Alt-X")));
    assert_false(pm_key_equal(key("u"), key("U")));
    assert_true(pm_key_equal(key("Ctrl--"), pm_key_make('-', PM_MOD_CTRL)));
    static const char *const bad[] = {"", "ctrl-", "hyper-x", "F13", "F0", "upp", "\x1B", "\xFF"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct pm_key out;
        assert_false(pm_key_read(bad[i], strlen(bad[i]), &out));
    }
}

static void keys_a_terminal_cannot_tell_apart_are_one(void **state)
{
    (void)state;
    assert_true(pm_key_equal(pm_key_make(13, 0), key("Enter")));
    assert_true(pm_key_equal(pm_key_make(10, 0), key("Enter")));
    assert_true(pm_key_equal(key("Ctrl-M"), key("Enter")));
    assert_true(pm_key_equal(pm_key_make(9, 0), key("Tab")));
    assert_true(pm_key_equal(pm_key_make(27, 0), key("Esc")));
    assert_true(pm_key_equal(pm_key_make(8, 0), key("Backspace")));
    assert_true(pm_key_equal(pm_key_make(127, 0), key("Backspace")));
    assert_true(pm_key_equal(pm_key_make(26, 0), key("Ctrl-Z")));
    assert_true(pm_key_equal(pm_key_make(31, 0), key("Ctrl-/")));
    assert_true(pm_key_equal(pm_key_make(0, 0), key("Ctrl-Space")));
}

/* ---- what terminals send --------------------------------------------------------------------- */

/* Sequences as ECMA-48 forms them; what they mean is common practice among terminals. */
static void sequences(void **state)
{
    (void)state;
    static const struct {
        const char *bytes, *name; /* NULL: to be ignored */
    } cases[] = {
        {"[A", "Up"},
        {"OB", "Down"},
        {"[1;5C", "Ctrl-Right"},
        {"[1;2D", "Shift-Left"},
        {"[1;3A", "Alt-Up"},
        {"[H", "Home"},
        {"[4~", "End"},
        {"[7~", "Home"},
        {"[3;5~", "Ctrl-Delete"},
        {"OP", "F1"},
        {"[[E", "F5"},
        {"[15~", "F5"},
        {"[24~", "F12"},
        {"[Z", "Shift-Tab"},
        {"[97;5u", "Ctrl-A"},
        {"[13;2u", "Shift-Enter"},
        {"[99~", NULL},
        {"[<0;1;1M", NULL},
        {"[?1;2c", NULL},
        {"[1;2;3A", NULL},
        {"[I", NULL},
        {"[99999999999u", NULL},
        {"[27u", "Esc"},
        {"[1;5Z", "Ctrl-Shift-Tab"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        size_t length = strlen(cases[i].bytes);
        struct pm_key got = {0};
        for (size_t part = 0; part < length; part++)
            assert_true(pm_sequence_goes_on(cases[i].bytes, part));
        assert_false(pm_sequence_goes_on(cases[i].bytes, length));
        assert_int_equal(pm_sequence_key(cases[i].bytes, length, &got), cases[i].name != NULL);
        if (cases[i].name != NULL)
            assert_true(pm_key_equal(got, key(cases[i].name)));
    }
}

static void pasted_text_is_cleaned(void **state)
{
    (void)state;
    static const char pasted[] = "a\r\nb\rc\nd\te\x11\x1B[31mf\xFFg\xE2\x80\xAEh\0i\xC3\xA9";
    struct pm_text text = PM_TEXT_EMPTY;
    pm_paste_clean(pasted, sizeof pasted - 1, &text);
    assert_string_equal(pm_text_get(&text), "a\nb\nc\nd\te[31mfghi\xC3\xA9");
    pm_text_release(&text);
}

/* ---- the line editor ------------------------------------------------------------------------- */

static void editing(void **state)
{
    (void)state;
    struct pm_field field;
    assert_true(pm_field_init(&field, 30));
    pm_field_set(&field, "rose de mai");
    assert_int_equal(pm_field_act(&field, PM_ACT_ERASE_WORD), PM_FIELD_CHANGED);
    assert_string_equal(field.text, "rose de ");
    assert_int_equal(pm_field_act(&field, PM_ACT_WORD_LEFT), PM_FIELD_SAME);
    pm_field_insert(&field, "x");
    assert_string_equal(field.text, "rose xde ");
    pm_field_act(&field, PM_ACT_FIRST);
    assert_int_equal(pm_field_act(&field, PM_ACT_ERASE), PM_FIELD_SAME);
    assert_int_equal(pm_field_act(&field, PM_ACT_DELETE), PM_FIELD_CHANGED);
    pm_field_act(&field, PM_ACT_WORD_RIGHT);
    pm_field_act(&field, PM_ACT_ERASE_END);
    assert_string_equal(field.text, "ose");
    pm_field_act(&field, PM_ACT_LEFT);
    pm_field_act(&field, PM_ACT_ERASE_START);
    assert_string_equal(field.text, "e");
    /* Glyphs are erased as wholes, wide or combined. */
    pm_field_set(&field, "ae\xCC\x81\xE9\xA6\x99");
    pm_field_act(&field, PM_ACT_ERASE);
    pm_field_act(&field, PM_ACT_ERASE);
    assert_string_equal(field.text, "a");
    assert_int_equal(pm_field_act(&field, PM_ACT_ACCEPT), PM_FIELD_IGNORED);
    /* Line ends become blanks, controls vanish, the limit holds between characters: what does not
     * fit whole stays out. */
    pm_field_set(&field, "");
    pm_field_insert(&field, "a\r\nb\nc\x1B"
                            "d\te");
    assert_string_equal(field.text, "a b cd e");
    pm_field_set(&field, "0123456789012345678901234567\xE9\xA6\x99x");
    assert_string_equal(field.text, "0123456789012345678901234567");
    assert_int_equal(pm_field_insert(&field, "yz!"), PM_FIELD_FULL);
    assert_int_equal(field.length, 28);
    assert_int_equal(pm_field_insert(&field, "y\x1Bz\r"), PM_FIELD_FULL);
    assert_int_equal(pm_field_insert(&field, "y\x1Bz"), PM_FIELD_CHANGED);
    assert_int_equal(pm_field_insert(&field, "!"), PM_FIELD_FULL);
    assert_int_equal(field.length, 30);
    pm_field_offer(&field, "all of it");
    assert_int_equal(pm_field_insert(&field, "0123456789012345678901234567890"), PM_FIELD_FULL);
    assert_true(field.whole);
    assert_string_equal(field.text, "all of it");
    assert_int_equal(pm_field_insert(&field, "12"), PM_FIELD_CHANGED);
    assert_int_equal(pm_field_insert(&field, "3"), PM_FIELD_CHANGED);
    assert_string_equal(field.text, "123");
    /* Moving goes on from what is selected, erasing takes it away. */
    pm_field_offer(&field, "all of it");
    pm_field_act(&field, PM_ACT_LEFT);
    pm_field_insert(&field, "x");
    assert_string_equal(field.text, "all of ixt");
    pm_field_offer(&field, "all of it");
    assert_int_equal(pm_field_act(&field, PM_ACT_ERASE), PM_FIELD_CHANGED);
    assert_string_equal(field.text, "");
    pm_field_release(&field);
}

static void the_cursor_is_always_in_sight(void **state)
{
    (void)state;
    struct pm_field field;
    struct pm_grid grid;
    assert_true(pm_field_init(&field, 200));
    assert_true(pm_grid_init(&grid, 1, 20));
    struct pm_pane pane = pm_pane_all(&grid);
    pm_field_set(&field, "");
    for (int i = 0; i < 40; i++) {
        pm_field_insert(&field, i % 3 ? "x" : "\xE9\xA6\x99");
        pm_field_draw(&field, &pane, 0, 2, 10, true);
        assert_in_range(grid.cursor_column, 2, 11);
    }
    for (int i = 0; i < 45; i++) {
        pm_field_act(&field, i % 2 ? PM_ACT_LEFT : PM_ACT_ERASE);
        pm_field_draw(&field, &pane, 0, 2, 10, true);
        assert_in_range(grid.cursor_column, 2, 11);
    }
    assert_int_equal(field.first, 0);
    pm_grid_release(&grid);
    pm_field_release(&field);
}

/* ---- tables of actions ----------------------------------------------------------------------- */

static void nothing(void *state)
{
    (void)state;
}

#define TEST_ACTION(id, keys, modes)                                                               \
    {                                                                                              \
        id, id, "Does it.", "Test", keys, modes, .run = nothing                                    \
    }

static enum pm_status check(const struct pm_action *actions, size_t count, struct pm_error *err)
{
    struct pm_keymap map;
    const struct pm_action_table table = {actions, count};
    pm_keymap_init(&map);
    enum pm_status status = pm_keymap_add(&map, 0, &table, err);
    if (status == PM_OK)
        status = pm_keymap_add(&map, PM_ANYWHERE, &pm_toolkit_actions, err);
    if (status == PM_OK)
        status = pm_keymap_check(&map, err);
    pm_keymap_release(&map);
    return status;
}

static void conflicts_are_found(void **state)
{
    (void)state;
    struct pm_error err = {0};
    const struct pm_action fine[] = {
        TEST_ACTION("a", "x Ctrl-X", PM_MODE_SHEET), TEST_ACTION("b", "y", PM_MODE_SHEET),
        TEST_ACTION("c", "x", PM_MODE_PAGE),
        /* a letter is text while typing, so nobody can miss it */
        TEST_ACTION("d", "x", PM_MODE_EDIT), TEST_ACTION("e", "z", PM_MODE_EDIT),
        TEST_ACTION("f", "z", PM_MODE_EDIT), TEST_ACTION("g", "Enter", PM_MODE_SHEET)};
    assert_int_equal(check(fine, 7, &err), PM_OK);
    const struct pm_action twice[] = {TEST_ACTION("a", "x", PM_MODE_SHEET),
                                      TEST_ACTION("b", "Ctrl-Q x", PM_MODE_SHEET)};
    assert_int_equal(check(twice, 1, &err), PM_OK);
    assert_int_equal(check(twice, 2, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "\"a\""));
    const struct pm_action taken[] = {TEST_ACTION("a", "Ctrl-L", PM_MODE_EDIT)};
    assert_int_equal(check(taken, 1, &err), PM_REFUSED);
    const struct pm_action function[] = {TEST_ACTION("a", "F5", PM_MODE_SHEET)};
    assert_int_equal(check(function, 1, &err), PM_REFUSED);
    const struct pm_action same[] = {TEST_ACTION("a", "x", PM_MODE_SHEET),
                                     TEST_ACTION("a", "y", PM_MODE_SHEET)};
    assert_int_equal(check(same, 2, &err), PM_INVALID);
    const struct pm_action none[] = {TEST_ACTION("a", "hyper-x", PM_MODE_SHEET)};
    assert_int_equal(check(none, 1, &err), PM_INVALID);
}

/* Complaints, one per line. */
static void note(void *context, const char *sentence)
{
    pm_text_addf(context, "%s\n", sentence);
}

static const char *id_of(const struct pm_keymap *map, const char *name)
{
    const struct pm_action *action = pm_keymap_find(map, key(name), 0, PM_MODE_SHEET);
    return action != NULL ? pm_action_id(action) : "";
}

/* What two rooms offer is one binding; a verb says what their rows leave out. */
static void rooms_share_verbs(void **state)
{
    (void)state;
    struct pm_keymap map;
    struct pm_error err = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    char name[PM_KEY_TEXT];
    const struct pm_action one[] = {{.verb = PM_VERB_UNDO, .modes = PM_MODE_SHEET, .run = nothing},
                                    TEST_ACTION("own", "o", PM_MODE_SHEET)};
    const struct pm_action two[] = {{.verb = PM_VERB_UNDO, .modes = PM_MODE_SHEET},
                                    TEST_ACTION("other", "o", PM_MODE_SHEET)};
    const struct pm_action false_undo[] = {TEST_ACTION("undo", "u", PM_MODE_SHEET)};
    pm_keymap_init(&map);
    assert_int_equal(pm_keymap_add(&map, 0, &(struct pm_action_table){one, 2}, &err), PM_OK);
    assert_int_equal(pm_keymap_add(&map, 1, &(struct pm_action_table){two, 2}, &err), PM_OK);
    /* The same word for another thing, or twice in one room, is a mistake. */
    assert_int_equal(pm_keymap_add(&map, 2, &(struct pm_action_table){false_undo, 1}, &err),
                     PM_INVALID);
    assert_int_equal(pm_keymap_add(&map, 1, &(struct pm_action_table){two, 1}, &err), PM_INVALID);
    assert_int_equal(pm_keymap_check(&map, &err), PM_OK);
    assert_ptr_equal(pm_keymap_find(&map, key("u"), 0, PM_MODE_SHEET), &one[0]);
    assert_ptr_equal(pm_keymap_find(&map, key("Ctrl-Z"), 1, PM_MODE_SHEET), &two[0]);
    assert_ptr_equal(pm_keymap_find(&map, key("o"), 1, PM_MODE_SHEET), &two[1]);
    assert_null(pm_keymap_find(&map, key("u"), 2, PM_MODE_SHEET));
    pm_keymap_user(&map, "undo z", NULL, NULL);
    assert_string_equal(pm_keymap_key(&map, "undo", PM_MODE_SHEET, name), "z");
    assert_ptr_equal(pm_keymap_find(&map, key("z"), 1, PM_MODE_SHEET), &two[0]);
    pm_keymap_dump(&map, &text);
    assert_string_equal(pm_text_get(&text),
                        "Back and forth\tundo\tz\tundo\tTakes the last change back; also after a "
                        "restart.\nTest\town\to\town\tDoes it.\nTest\tother\to\tother\tDoes it.\n");
    pm_text_release(&text);
    pm_keymap_release(&map);
}

static void users_keys(void **state)
{
    (void)state;
    struct sample sample;
    sample_init(&sample);
    struct pm_app_spec spec = sample_spec(&sample);
    struct pm_keymap map;
    struct pm_text said = PM_TEXT_EMPTY;
    pm_keymap_init(&map);
    assert_int_equal(pm_keymap_add(&map, 0, spec.rooms[0]->actions, NULL), PM_OK);
    assert_int_equal(pm_keymap_add(&map, PM_ANYWHERE, &pm_toolkit_actions, NULL), PM_OK);
    pm_keymap_user(&map,
                   "# my keys\r\n"
                   "\n"
                   "  pick  n   #\r\n" /* swapped with the next: no conflict in the end */
                   "name p\n"
                   "copy none\n"
                   "down j\n"
                   "nosuch x\n"
                   "form hyper-f\n"
                   "copy 5\n"
                   "page\n"
                   "ask q\n"
                   "undo z Ctrl-Y\n"
                   "up v V w W Z\n"       /* six with the arrow, which cannot be lost */
                   "page-up C D E G H J", /* seven with its own */
                   note, &said);
    assert_string_equal(pm_text_get(&said),
                        "Key file, line 7: There is no action \"nosuch\".\n"
                        "Key file, line 8: \"hyper-f\" is no key, or one too many.\n"
                        "Key file, line 9: 5 begins a number: it cannot be a key.\n"
                        "Key file, line 10: say which key \"page\" gets, or none.\n"
                        "Key file, line 14: \"page-up\" gets too many keys.\n"
                        "Key file, line 11: q already means \"leave\" (Everywhere).\n");
    assert_string_equal(id_of(&map, "n"), "pick");
    assert_string_equal(id_of(&map, "#"), "pick");
    assert_string_equal(id_of(&map, "p"), "name");
    assert_string_equal(id_of(&map, "c"), "");
    assert_string_equal(id_of(&map, "j"), "down");
    assert_string_equal(id_of(&map, "Down"), "down"); /* arrows cannot be lost */
    assert_string_equal(id_of(&map, "f"), "form");
    assert_string_equal(id_of(&map, "k"), "ask"); /* refused lines change nothing */
    assert_string_equal(id_of(&map, "u"), "");
    assert_string_equal(id_of(&map, "Ctrl-Y"), "undo");
    assert_string_equal(id_of(&map, "Z"), "up");
    assert_string_equal(id_of(&map, "Up"), "up");
    assert_string_equal(id_of(&map, "C"), "");
    pm_text_release(&said);
    pm_keymap_release(&map);
    sample_release(&sample);
}

/* The id of a verb changes its key in all rooms; what clashes then is told and not done. */
static void a_verb_gets_its_key_in_all_rooms(void **state)
{
    (void)state;
    struct pm_keymap map;
    struct pm_text said = PM_TEXT_EMPTY;
    const struct pm_action bench[] = {{"tuck-in", "tuck in", "Does it.", "Test", NULL,
                                       PM_MODE_SHEET, .verb = PM_VERB_ADD, .run = nothing},
                                      TEST_ACTION("own", "o", PM_MODE_SHEET)};
    const struct pm_action shelf[] = {{"add-bottle", "add", "Does it.", "Test", NULL, PM_MODE_SHEET,
                                       .verb = PM_VERB_ADD, .run = nothing},
                                      {"edit-it", "edit", "Does it.", "Test", NULL, PM_MODE_SHEET,
                                       .verb = PM_VERB_EDIT, .run = nothing}};
    pm_keymap_init(&map);
    assert_int_equal(pm_keymap_add(&map, 0, &(struct pm_action_table){bench, 2}, NULL), PM_OK);
    assert_int_equal(pm_keymap_add(&map, 1, &(struct pm_action_table){shelf, 2}, NULL), PM_OK);
    pm_keymap_user(&map, "add n\nput-right o\n", note, &said);
    assert_string_equal(pm_text_get(&said), ""); /* o means something else in another room only */
    assert_ptr_equal(pm_keymap_find(&map, key("n"), 0, PM_MODE_SHEET), &bench[0]);
    assert_ptr_equal(pm_keymap_find(&map, key("n"), 1, PM_MODE_SHEET), &shelf[0]);
    assert_ptr_equal(pm_keymap_find(&map, key("Insert"), 1, PM_MODE_SHEET), &shelf[0]);
    assert_null(pm_keymap_find(&map, key("a"), 1, PM_MODE_SHEET));
    pm_keymap_user(&map, "# another file\nadd o", note, &said); /* the first no longer counts */
    assert_string_equal(pm_text_get(&said), "Key file, line 2: o already means \"own\" (Test).\n");
    assert_ptr_equal(pm_keymap_find(&map, key("o"), 1, PM_MODE_SHEET), &shelf[0]);
    assert_ptr_equal(pm_keymap_find(&map, key("e"), 1, PM_MODE_SHEET), &shelf[1]);
    pm_text_release(&said);
    pm_keymap_release(&map);
}

/* Asking changes nothing. */
static void keys_are_tried(void **state)
{
    (void)state;
    struct sample sample;
    sample_init(&sample);
    struct pm_app_spec spec = sample_spec(&sample);
    struct pm_keymap map;
    struct pm_error err;
    pm_keymap_init(&map);
    assert_int_equal(pm_keymap_add(&map, 0, spec.rooms[0]->actions, NULL), PM_OK);
    assert_int_equal(pm_keymap_add(&map, PM_ANYWHERE, &pm_toolkit_actions, NULL), PM_OK);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "Alt-G x", &err), PM_OK);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "none", &err), PM_OK);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "", &err), PM_OK);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "n", &err), PM_REFUSED);
    assert_string_equal(err.text, "n already means \"new name\" (Rows).");
    assert_int_equal(pm_keymap_may_give(&map, "pick", "hyper-f", &err), PM_INVALID);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "A =", &err), PM_INVALID);
    assert_string_equal(err.text, "= begins a number: it cannot be a key.");
    assert_int_equal(pm_keymap_may_give(&map, "pick", "Ctrl-P Alt-5", &err), PM_OK);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "A B C D E F G", &err), PM_INVALID);
    assert_int_equal(pm_keymap_may_give(&map, "nosuch", "x", &err), PM_MISSING);
    assert_string_equal(id_of(&map, "p"), "pick");
    assert_string_equal(id_of(&map, "Alt-G"), "");
    /* A default key that another has got since is not given back. */
    pm_keymap_user(&map, "pick z\nname p\n", note, NULL);
    assert_int_equal(pm_keymap_may_give(&map, "pick", "", &err), PM_REFUSED);
    pm_keymap_release(&map);
    sample_release(&sample);
}

static void the_manual_gets_every_action(void **state)
{
    (void)state;
    struct pm_keymap map;
    struct pm_text text = PM_TEXT_EMPTY;
    size_t lines = 0;
    pm_keymap_init(&map);
    assert_int_equal(pm_keymap_add(&map, PM_ANYWHERE, &pm_toolkit_actions, NULL), PM_OK);
    pm_keymap_dump(&map, &text);
    for (const char *at = pm_text_get(&text); (at = strchr(at, '\n')); at++)
        lines++;
    assert_int_equal(lines, pm_toolkit_actions.count);
    assert_non_null(strstr(pm_text_get(&text), "Everywhere\trepaint\tCtrl-L\trepaint\t"));
    pm_text_release(&text);
    pm_keymap_release(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_are_read_back),
        cmocka_unit_test(keys_a_terminal_cannot_tell_apart_are_one),
        cmocka_unit_test(sequences),
        cmocka_unit_test(pasted_text_is_cleaned),
        cmocka_unit_test(editing),
        cmocka_unit_test(the_cursor_is_always_in_sight),
        cmocka_unit_test(conflicts_are_found),
        cmocka_unit_test(rooms_share_verbs),
        cmocka_unit_test(users_keys),
        cmocka_unit_test(a_verb_gets_its_key_in_all_rooms),
        cmocka_unit_test(keys_are_tried),
        cmocka_unit_test(the_manual_gets_every_action),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

# SPDX-License-Identifier: MIT
#
# permille: build, test, install. GNU make; everything made lands in build/.
#
#   make             build the program, build/permille
#   make demo        set-up, build, write a fresh demo library, open it
#   make test        set-up, build, run every test; ends with "N passed, N failed"
#   make asan        the same tests under address and undefined-behaviour checks
#   make valgrind    unit and store tests under valgrind
#   make readme      write the README's screens and answers anew, as the program shows them
#   make layers      prove that the layers' arrows point one way
#   make bench       measurements, each next to a reference from the same run
#   make install     program, manual page and completions (PREFIX, DESTDIR)
#   make dist         the sources as one file · make deb  a Debian package
#   make check-package  installs, takes away, packs twice; lintian, mandoc, shellcheck
#   make musl         compiles base, core and their tests with musl-gcc
#   make uninstall · make clean · make format · make format-check
#
#   make V=1 ...     show the whole command lines
#   make test ONLY='unit/test_core_% store/%'    only these tests (also asan, valgrind)
#   make CC=clang    another compiler (what was built with the old one is built again)

BUILD  = build
PREFIX = /usr/local
CC     = cc
CFLAGS = -O2 -g
# Set to nothing where a newer compiler warns about more than this code knows of.
WERROR = -Werror

WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow \
           -Wstrict-prototypes -Wmissing-prototypes -Wold-style-definition -Wredundant-decls \
           -Wcast-qual -Wcast-align -Wpointer-arith -Wwrite-strings -Wundef -Wvla -Wformat=2 \
           -Wimplicit-fallthrough
HARDEN   = -D_FORTIFY_SOURCE=2 -fstack-protector-strong
# make asan puts its switches here.
SANITIZE =
COMPILE  = $(CC) -std=c11 -D_GNU_SOURCE -Iinclude $(WARNINGS) $(WERROR) $(HARDEN) $(CFLAGS) \
           $(SANITIZE) $(CPPFLAGS)
LINK     = $(CC) $(CFLAGS) $(SANITIZE) $(LDFLAGS)

# Not asked before a recipe needs them: on a bare machine set-up has to install pkg-config first.
CURSES_CPPFLAGS = $(shell pkg-config --cflags ncursesw)
CURSES_LIBS     = $(shell pkg-config --libs ncursesw)
UNICODE_CPPFLAGS = $(shell pkg-config --cflags libutf8proc)
UNICODE_LIBS     = $(shell pkg-config --libs libutf8proc)
JSON_CPPFLAGS    = $(shell pkg-config --cflags jansson)
JSON_LIBS        = $(shell pkg-config --libs jansson)
SQLITE_CPPFLAGS = $(shell pkg-config --cflags sqlite3)
SQLITE_LIBS     = $(shell pkg-config --libs sqlite3)
# lp_solve is linked as an archive; these are what it needs.
LINEAR_LIBS     = -llpsolve55 -lcolamd -ldl
TEST_LIBS       = -lcmocka -lgmp -lgsl -lgslcblas -lglpk -lm

# ---- sources ---------------------------------------------------------------------------------

# From the top of the house to the ground: the order a linker wants.
LAYERS   = cli tui studio store core base
ARCHIVES = $(LAYERS:%=$(BUILD)/libpermille-%.a)
GROUND   = $(BUILD)/libpermille-core.a $(BUILD)/libpermille-base.a

SOURCES := $(sort $(wildcard $(LAYERS:%=src/%/*.c) src/tui/*/*.c) $(wildcard src/main.c))
DEMO    := $(sort $(wildcard demo-db/*.c))
SCHEMA  := $(sort $(wildcard schema/*.sql schema/reference/*.csv))

# Every tests/KIND/test_*.c and tests/bench/bench_*.c is a program of its own; the other files in
# those folders are helpers that the programs may call. The kinds run in this order, others after.
KINDS    = unit store studio screen command fault fuzz-replay
# The longest first, so that none is left running alone at the end.
LONGEST := tests/store/test_faults.c tests/store/test_damage.c tests/command/test_done_disk.c \
    tests/command/test_done_memory.c tests/command/test_done_answers.c
TESTS   := $(LONGEST) \
    $(filter-out $(LONGEST),$(foreach kind,$(KINDS),$(sort $(wildcard tests/$(kind)/test_*.c))))
TESTS   += $(sort $(filter-out $(TESTS),$(wildcard tests/*/test_*.c)))
BENCHES := $(sort $(wildcard tests/bench/bench_*.c))
CHOSEN   = $(if $(ONLY),$(filter $(ONLY:%=tests/%.c),$(TESTS)),$(TESTS))
HELPERS := $(sort $(filter-out $(TESTS) $(BENCHES),$(wildcard tests/*/*.c)))
# Tests of base and core link without SQLite and ncurses: that is the proof that they need neither.
PURE   := $(filter tests/unit/test_base_% tests/unit/test_core_%,$(TESTS))

objects  = $(patsubst %.c,$(BUILD)/obj/%.o,$(1))
programs = $(patsubst %.c,$(BUILD)/%,$(1))

EMBEDDED = $(BUILD)/gen/embedded
ALL_C   := $(SOURCES) $(DEMO) $(TESTS) $(HELPERS) $(BENCHES)

# ---- the program -----------------------------------------------------------------------------

ifeq ($(V),1)
Q =
say = @:
else
Q = @
say = @printf '  %-5s %s\n'
endif

MAKEFLAGS += --no-builtin-rules --no-print-directory
.SUFFIXES:
.DELETE_ON_ERROR:
.SECONDARY:
.PHONY: check-package musl all program test-programs pure-programs demo demo-library test asan valgrind readme layers bench \
        bench-programs install uninstall dist deb deb-here clean format format-check FORCE

all: program
program: $(BUILD)/permille

$(BUILD)/permille: $(call objects,src/main.c) $(ARCHIVES)
	$(say) LINK $@
	$(Q)$(LINK) -o $@ $^ $(SQLITE_LIBS) $(CURSES_LIBS) $(UNICODE_LIBS) $(JSON_LIBS) $(LINEAR_LIBS) -lm

# What a layer may see beyond the public headers and the C library's.
$(BUILD)/obj/src/base/%.o: LAYER_CPPFLAGS = $(UNICODE_CPPFLAGS) $(JSON_CPPFLAGS)
$(BUILD)/obj/src/store/%.o $(EMBEDDED).o: LAYER_CPPFLAGS = $(SQLITE_CPPFLAGS)
$(BUILD)/obj/src/tui/%.o: LAYER_CPPFLAGS = -Isrc/tui $(CURSES_CPPFLAGS)
$(BUILD)/obj/tests/%.o: LAYER_CPPFLAGS = -I. -Isrc/tui $(SQLITE_CPPFLAGS)
$(BUILD)/obj/demo-db/%.o: LAYER_CPPFLAGS = -I.

$(BUILD)/obj/%.o: %.c $(BUILD)/stamp/flags | $(BUILD)/stamp/libraries
	$(say) CC $<
	@mkdir -p $(@D)
	$(Q)$(COMPILE) $(LAYER_CPPFLAGS) -MMD -MP -c -o $@ $<

$(BUILD)/libpermille-store.a: $(EMBEDDED).o
$(foreach layer,$(LAYERS),$(eval \
    $(BUILD)/libpermille-$(layer).a: $(call objects,$(filter src/$(layer)/%,$(SOURCES)))))

# Written anew each time, so that the objects of removed sources do not linger.
$(BUILD)/libpermille-%.a: $(BUILD)/stamp/sources
	$(say) AR $@
	$(Q)rm -f $@ && $(AR) rcs $@ $(filter %.o,$^)

# Migrations and reference data travel inside the program (src/store/embedded.h).
$(EMBEDDED).c: schema/embed $(SCHEMA) $(BUILD)/stamp/sources
	$(say) EMBED $@
	@mkdir -p $(@D)
	$(Q)schema/embed schema $(SCHEMA:schema/%=%) > $@

$(EMBEDDED).o: $(EMBEDDED).c $(BUILD)/stamp/flags | $(BUILD)/stamp/libraries
	$(say) CC $<
	$(Q)$(COMPILE) -Isrc/store -MMD -MP -c -o $@ $<

-include $(patsubst %.o,%.d,$(call objects,$(ALL_C)) $(EMBEDDED).o)

# Stamps: touched only when what they hold changes, so that a changed switch or an added or removed
# source file builds again exactly what it concerns.
remember = @mkdir -p $(@D); \
           printf '%s\n' '$(1)' | cmp -s - $@ || printf '%s\n' '$(1)' > $@

$(BUILD)/stamp/flags: FORCE
	$(call remember,$(COMPILE) / $(LINK))

$(BUILD)/stamp/sources: FORCE
	$(call remember,$(SOURCES) $(SCHEMA) $(HELPERS))

$(BUILD)/stamp/libraries: .ci/setup
	@.ci/setup --check build
	@mkdir -p $(@D) && touch $@

# ---- demo ------------------------------------------------------------------------------------

DEMO_LIBRARY = $(BUILD)/demo.db

# Set-up first, then make again: only now can the compiler and the libraries be asked for.
demo:
	@.ci/setup build
	@$(MAKE) demo-library
	@if [ -t 0 ] && [ -t 1 ]; then exec $(BUILD)/permille --db $(DEMO_LIBRARY); fi; \
	echo "The demo library is $(DEMO_LIBRARY); open it in a terminal with"; \
	echo "    $(BUILD)/permille --db $(DEMO_LIBRARY)"

# A fresh copy every time: whatever was tried in the last one is gone.
demo-library: program $(if $(DEMO),$(BUILD)/make-demo)
	@rm -f $(DEMO_LIBRARY) $(DEMO_LIBRARY)-*
ifneq ($(DEMO),)
	$(say) DEMO $(DEMO_LIBRARY)
	$(Q)$(BUILD)/make-demo demo-db $(DEMO_LIBRARY)
endif

$(BUILD)/make-demo: $(call objects,$(DEMO)) $(ARCHIVES)
	$(say) LINK $@
	$(Q)$(LINK) -o $@ $^ $(SQLITE_LIBS) $(CURSES_LIBS) $(UNICODE_LIBS) $(JSON_LIBS) $(LINEAR_LIBS) -lm

# ---- tests -----------------------------------------------------------------------------------

test:
	@.ci/setup test
	@$(MAKE) test-programs
	@BUILD=$(BUILD) tests/run-tests $(call programs,$(CHOSEN))

# The demo's test and the README's run the program that makes the demo library.
test-programs: $(call programs,$(CHOSEN)) program \
    $(if $(filter tests/command/test_demo.c tests/command/test_readme_walk.c tests/screen/test_readme_screens.c,$(CHOSEN)),$(BUILD)/make-demo)
	@:
pure-programs: $(call programs,$(PURE))
	@:

$(BUILD)/libpermille-test.a: $(call objects,$(HELPERS))

$(call programs,$(PURE)): $(BUILD)/%: $(BUILD)/obj/%.o $(BUILD)/libpermille-test.a $(GROUND)
	$(say) LINK $@
	@mkdir -p $(@D)
	$(Q)$(LINK) -o $@ $^ $(UNICODE_LIBS) $(JSON_LIBS) $(TEST_LIBS)

$(call programs,$(filter-out $(PURE),$(TESTS))): $(BUILD)/%: $(BUILD)/obj/%.o \
    $(BUILD)/libpermille-test.a $(ARCHIVES)
	$(say) LINK $@
	@mkdir -p $(@D)
	$(Q)$(LINK) -o $@ $^ $(SQLITE_LIBS) $(CURSES_LIBS) $(UNICODE_LIBS) $(JSON_LIBS) $(LINEAR_LIBS) $(TEST_LIBS) -lvterm -lutil

# Everything again, in its own folder, stopping at the first wrong access, overflow or leak. Frame
# pointers keep the reports readable; fortified calls would hide errors from the sanitizer. Every
# gesture is checked against its rules.
asan:
	@.ci/setup test
	@$(MAKE) BUILD=$(BUILD)/asan HARDEN= CFLAGS='-O1 -g -fno-omit-frame-pointer' \
	    CPPFLAGS=-DPM_CHECK_GESTURES \
	    SANITIZE='-fsanitize=address,undefined -fno-sanitize-recover=all' test-programs
	@BUILD=$(BUILD)/asan TEST_TIMEOUT=900 tests/run-tests \
	    $(patsubst $(BUILD)/%,$(BUILD)/asan/%,$(call programs,$(CHOSEN)))

VALGRIND = valgrind -q --error-exitcode=99 --leak-check=full \
           --errors-for-leak-kinds=definite,indirect --suppressions=tests/leaks.valgrind

valgrind:
	@.ci/setup test
	@command -v valgrind > /dev/null || { echo "make valgrind needs valgrind."; exit 1; }
	@$(MAKE) test-programs
	@BUILD=$(BUILD) TEST_WRAPPER='$(VALGRIND)' TEST_TIMEOUT=1200 tests/run-tests \
	    $(call programs,$(filter tests/unit/% tests/store/%,$(CHOSEN)))

readme:
	@PERMILLE_README=write $(MAKE) test ONLY=screen/test_readme_screens
	@PERMILLE_README=write $(MAKE) test ONLY=command/test_readme_walk

layers:
	@.ci/setup test
	@$(MAKE) program pure-programs
	@BUILD=$(BUILD) CC='$(CC)' WARNINGS='$(WARNINGS)' tests/check-layers $(call programs,$(PURE))

# Each prints its own table.
$(call programs,$(BENCHES)): $(BUILD)/%: $(BUILD)/obj/%.o $(BUILD)/libpermille-test.a $(ARCHIVES)
	$(say) LINK $@
	@mkdir -p $(@D)
	$(Q)$(LINK) -o $@ $^ $(SQLITE_LIBS) $(CURSES_LIBS) $(UNICODE_LIBS) $(JSON_LIBS) $(LINEAR_LIBS) $(TEST_LIBS) -lvterm -lutil

bench-programs: $(call programs,$(BENCHES)) program
	@:

bench:
	@.ci/setup test
	@$(MAKE) bench-programs
	@for program in $(call programs,$(BENCHES)); do $$program || exit 1; done

# ---- installing ------------------------------------------------------------------------------

BINDIR  = $(DESTDIR)$(PREFIX)/bin
DATADIR = $(DESTDIR)$(PREFIX)/share
# Manual and completions come from the program's own tables.
MAN     = $(DATADIR)/man/man1/permille.1
BASH    = $(DATADIR)/bash-completion/completions/permille
ZSH     = $(DATADIR)/zsh/site-functions/_permille
FISH    = $(DATADIR)/fish/vendor_completions.d/permille.fish

install: program
	install -d $(BINDIR) $(dir $(MAN) $(BASH) $(ZSH) $(FISH))
	install -m 755 $(BUILD)/permille $(BINDIR)/permille
	$(BUILD)/permille help --man > $(BUILD)/permille.1
	install -m 644 $(BUILD)/permille.1 $(MAN)
	$(BUILD)/permille help --completion bash > $(BUILD)/completion.bash
	install -m 644 $(BUILD)/completion.bash $(BASH)
	$(BUILD)/permille help --completion zsh > $(BUILD)/completion.zsh
	install -m 644 $(BUILD)/completion.zsh $(ZSH)
	$(BUILD)/permille help --completion fish > $(BUILD)/completion.fish
	install -m 644 $(BUILD)/completion.fish $(FISH)

# Of a staging root nothing stays; folders of a running system belong to others as well.
uninstall:
	rm -f $(BINDIR)/permille $(MAN) $(BASH) $(ZSH) $(FISH)
ifneq ($(DESTDIR),)
	cd $(DESTDIR) && find . -depth -mindepth 1 -type d -empty -delete
endif

VERSION = $(shell sed -n 's/.*PM_VERSION  *"\(.*\)"/\1/p' include/permille/base/version.h)

# Times in what is packed: of the last change, whoever builds it, wherever and whenever.
EPOCH = $(or $(SOURCE_DATE_EPOCH),$(shell { [ -e .git ] && git log -1 --format=%ct 2> /dev/null; } || \
    stat -c %Y include/permille/base/version.h))

# The sources as one file; the same sources give the same bytes.
DIST = $(BUILD)/permille-$(VERSION).tar.gz
dist:
	@mkdir -p $(BUILD)
	$(Q)tar --sort=name --owner=0 --group=0 --numeric-owner --mode=go=rX,u+rw,a-s \
	    --mtime=@$(EPOCH) \
	    --transform='s,^,permille-$(VERSION)/,' -cf - \
	    .ci .clang-format .gitignore DEVELOPERS.md LICENSE Makefile README.md demo-db include schema \
	    src tests | gzip -9n > $(DIST)
	@echo $(DIST)

# A Debian package, made with dpkg's tools alone. It is built in a folder of its own, whose path
# leaves no trace: the same sources give the same bytes anywhere.
NO_TRACE = -ffile-prefix-map=$(CURDIR)=. -ffile-prefix-map=$(BUILD)/package=package
deb:
	@.ci/setup package
	@$(MAKE) BUILD=$(BUILD)/package CFLAGS='$(CFLAGS) $(NO_TRACE)' \
	    LDFLAGS='$(LDFLAGS) -Wl,-z,relro,-z,now' deb-here
deb-here: program
	$(Q)SOURCE_DATE_EPOCH=$(EPOCH) .ci/package $(BUILD) $(VERSION)

# Installs and takes away, packs twice, and lets lintian, mandoc and shellcheck look where they are.
check-package:
	@$(MAKE) program
	@tests/check-package $(BUILD) $(VERSION)

# musl's compiler over what needs no library of the system but headers: base, core and their tests.
MUSL_SOURCES = $(filter src/base/% src/core/%,$(SOURCES)) $(PURE)
musl: $(patsubst %.c,$(BUILD)/musl/%.o,$(MUSL_SOURCES))
$(BUILD)/musl/%.o: %.c
	$(say) MUSL $<
	@mkdir -p $(@D)
	$(Q)musl-gcc -std=c11 -D_GNU_SOURCE -I. -Iinclude $(WARNINGS) $(WERROR) $(CFLAGS) \
	    -idirafter /usr/include -idirafter /usr/include/$$(gcc -print-multiarch) -c -o $@ $<

clean:
	rm -rf $(BUILD)

# ---- form ------------------------------------------------------------------------------------

FORMATTED = $(ALL_C) $(wildcard include/permille/*/*.h src/*/*.h src/tui/*/*.h demo-db/*.h tests/*/*.h)

format:
	$(Q)clang-format -i $(sort $(FORMATTED))

format-check:
	$(Q)clang-format --dry-run -Werror $(sort $(FORMATTED))

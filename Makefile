# Sootbook. Two commands do everything on a fresh Debian machine:
#   make run     install what is missing, build, open the window on the sample logbook
#   make test    install what is missing, build, run the tests
# Others: all check bench fuzz cover format pictures samples truth install clean soak.
# SAN=address,undefined or SAN=thread builds with sanitizers, in a build folder of its own.

CC      ?= cc
SAN     ?=
MODE    ?= release
PREFIX  ?= /usr/local
DESTDIR ?=
WERROR  ?=
VERSION := 0.1.0

PKGS := sdl2 SDL2_image SDL2_ttf sqlite3 libjpeg libheif libexif lcms2 fontconfig libcjson libcrypto zlib cairo pangocairo fribidi harfbuzz

comma := ,
BUILD := build$(if $(SAN),/san-$(subst $(comma),-,$(SAN)))$(if $(filter cover,$(MODE)),/cover)

WARN := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes \
        -Wvla -Wundef -Wwrite-strings -Wformat=2 $(if $(WERROR),-Werror)
# With sanitizers -O1 compiles sooner; what runs longer than it compiles gets -O2. What measures gets -O3 with them and without:
# a plug is found in a seventh less time, with the same figures.
LONG  := $(addprefix src/,photo/ lineup/ reading/ ui/ base/) $(addprefix tests/,gauge/ photo/ lineup/)
HEAVY  = $(if $(filter $(LONG),$(dir $<)),-O2,-O1)
OPT    = $(if $(filter cover,$(MODE)),-O0 --coverage,$(if $(filter src/gauge/,$(dir $<)),-O3,$(if $(SAN),$(HEAVY),-O2)) $(if $(SAN),-fno-omit-frame-pointer))
# What a sanitizer says names file and line, for which -g1 is enough. What is undefined ends in a trap, which AddressSanitizer tells of in
# the same way (handle_sigill in run-tests.sh); in words, with a table of all places looked at, the program has 7 MB of data that each start
# relocates and each end searches for lost memory.
DEBUG = $(if $(filter fuzz,$(MODE)),-g,$(if $(SAN),-g1 $(if $(findstring undefined,$(SAN)),-fsanitize-undefined-trap-on-error),-g))
# Fuzz targets are built by clang with its fuzzer, in a folder of their own.
ifeq ($(MODE),fuzz)
CC    := clang
SAN   := fuzzer-no-link,address,undefined
BUILD := build/fuzz
endif
# Asked for only when something is compiled: a fresh machine has no pkg-config yet.
PKG_CFLAGS = $(shell pkg-config --cflags $(PKGS) 2>/dev/null)
PKG_LIBS   = $(shell pkg-config --libs $(PKGS) 2>/dev/null)
ALL_CPPFLAGS = -Isrc -D_POSIX_C_SOURCE=200809L -D_DEFAULT_SOURCE -DSOOTBOOK_VERSION='"$(VERSION)"' \
               -DSOOTBOOK_DATADIR='"$(PREFIX)/share/sootbook"' $(PKG_CFLAGS) $(CPPFLAGS)
ALL_CFLAGS   = -std=c11 $(DEBUG) $(OPT) $(WARN) $(if $(SAN),-fsanitize=$(SAN) -fno-sanitize-recover=all) $(CFLAGS)
ALL_LDFLAGS  = $(if $(SAN),-fsanitize=$(SAN)) $(if $(filter cover,$(MODE)),--coverage) $(LDFLAGS)
ALL_LDLIBS   = $(PKG_LIBS) -lm -lpthread $(LDLIBS)

# Each folder is an archive and may use only those named behind it. A test binary links its own
# folder's archive and the ones behind it, nothing else: the linker keeps the rule.
LAYERS_base     := base
LAYERS_engine   := engine base
LAYERS_record   := record engine base
LAYERS_reading  := reading record engine base
LAYERS_casefile := casefile reading record engine base
LAYERS_logbook  := logbook record engine base
LAYERS_photo    := photo base
LAYERS_gauge    := gauge base
LAYERS_lineup   := lineup logbook record engine gauge photo base
LAYERS_placing  := placing logbook record engine photo base
LAYERS_takeover := takeover casefile logbook reading record engine base
LAYERS_report   := report lineup casefile logbook reading record engine gauge photo base
LAYERS_settings := settings report lineup casefile logbook reading record engine gauge photo base
LAYERS_ui       := ui base
LAYERS_screen   := screen ui report lineup placing takeover casefile logbook reading record engine gauge photo base
LAYERS_app      := app screen ui settings report lineup placing takeover casefile logbook reading record engine gauge photo base
LAYERS_cli      := cli settings report lineup placing takeover casefile logbook reading record engine gauge photo base
FOLDERS := base engine record reading casefile logbook photo gauge lineup placing takeover report settings ui screen app cli

objects = $(patsubst %.c,$(BUILD)/%.o,$(filter-out src/app/main.c,$(wildcard src/$(1)/*.c)))
archives = $(foreach f,$(LAYERS_$(1)),$(BUILD)/lib$(f).a)

PROGRAM  := $(BUILD)/sootbook
TESTS    := $(patsubst %.c,$(BUILD)/%,$(wildcard tests/*/test_*.c))
TEST_HELP := $(patsubst %.c,$(BUILD)/%.o,$(wildcard tests/help/*.c))
ASSETS   := $(shell find assets -type f | LC_ALL=C sort)

.PHONY: all build run test check bench fuzz cover format pictures samples install clean soak \
        packages packages-check
.DEFAULT_GOAL := all

all: packages
	@$(MAKE) --no-print-directory $(AT_ONCE) build

build: $(PROGRAM)

# As many at once as there are cores, unless make was told how many.
AT_ONCE = $(if $(filter -j%,$(MAKEFLAGS)),,-j$(shell nproc))

packages:
	@sh src/make/packages.sh build
packages-check:
	@sh src/make/packages.sh check

# ---- compile and link -----------------------------------------------------------------------
# What the compiler says of a file stays beside its object, for the check that it says nothing.
$(BUILD)/%.o: %.c Makefile
	@mkdir -p $(@D)
	$(CC) $(ALL_CPPFLAGS) $(ALL_CFLAGS) -MMD -MP -c $< -o $@ 2>$(@:.o=.said) || { cat $(@:.o=.said) >&2; exit 1; }
	@cat $(@:.o=.said) >&2

# Every file of assets/ goes into the program; assets_table.c lists them.
$(BUILD)/assets_table.c: $(ASSETS) src/make/assets.sh Makefile
	@mkdir -p $(@D)
	@sh src/make/assets.sh $(ASSETS) > $@.new && mv $@.new $@
$(BUILD)/assets_table.o: $(BUILD)/assets_table.c
	$(CC) $(ALL_CPPFLAGS) $(ALL_CFLAGS) -c $< -o $@

define archive
$(BUILD)/lib$(1).a: $(call objects,$(1)) $(if $(filter base,$(1)),$(BUILD)/assets_table.o)
	@mkdir -p $$(@D)
	@rm -f $$@
	@ar rcs $$@ $$^
endef
$(foreach f,$(FOLDERS),$(eval $(call archive,$(f))))

# Both faces of the program, then all they stand on.
PROGRAM_ARCHIVES := $(BUILD)/libapp.a $(BUILD)/libcli.a $(BUILD)/libsettings.a $(call archives,screen)
$(PROGRAM): $(BUILD)/src/app/main.o $(PROGRAM_ARCHIVES)
	$(CC) $(ALL_LDFLAGS) $< $(PROGRAM_ARCHIVES) \
	    $(ALL_LDLIBS) -o $@

# tests/FOLDER/test_NAME.c is linked with src/FOLDER and what stands below it.
define test_rule
$(BUILD)/tests/$(1)/test_%: $(BUILD)/tests/$(1)/test_%.o $(TEST_HELP) $(call archives,$(1))
	$$(CC) $$(ALL_LDFLAGS) $$< $(TEST_HELP) $(call archives,$(1)) $$(ALL_LDLIBS) -lcmocka -o $$@
endef
$(foreach f,$(FOLDERS),$(eval $(call test_rule,$(f))))

-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)
.SECONDARY:

# ---- run and test ---------------------------------------------------------------------------
run: packages
	@$(MAKE) --no-print-directory $(AT_ONCE) build
	@sh src/make/run.sh $(PROGRAM)

test: packages
	@$(MAKE) --no-print-directory $(AT_ONCE) test-run

.PHONY: test-run tests-built looked-over
tests-built: $(PROGRAM) $(TESTS)
test-run: tests-built
	@SOOTBOOK=$(abspath $(PROGRAM)) sh src/make/run-tests.sh $(BUILD) $(TESTS)

# Everything that checks the program beyond `make test`: headers alone, sanitizers, valgrind, static
# analysis, fuzz corpora, outside references. `sh src/make/check.sh NAME` runs one part.
check: packages packages-check
	@sh src/make/check.sh

# All of src read by the compiler for what it would warn of; nothing is made.
looked-over:
	@printf '%s\n' $(wildcard src/*/*.c) | xargs -n 8 -P 2 $(CC) $(ALL_CPPFLAGS) $(ALL_CFLAGS) -fsyntax-only

# ---- fuzz: tests/fuzz/fuzz_NAME.c, corpus in tests/fuzz/corpus/NAME ---------------------------
FUZZERS := $(patsubst tests/fuzz/fuzz_%.c,%,$(wildcard tests/fuzz/fuzz_*.c))
FUZZ_SECONDS ?= 60
.PHONY: fuzz-built fuzz-replay
$(BUILD)/tests/fuzz/fuzz_%: $(BUILD)/tests/fuzz/fuzz_%.o $(call archives,cli)
	$(CC) $(ALL_LDFLAGS) -fsanitize=fuzzer $< $(call archives,cli) $(ALL_LDLIBS) -o $@
fuzz-built: $(FUZZERS:%=$(BUILD)/tests/fuzz/fuzz_%)
fuzz-replay:
	@$(MAKE) --no-print-directory MODE=fuzz fuzz-built
	@sh src/make/fuzz.sh replay $(FUZZERS)
fuzz: packages-check
	@$(MAKE) --no-print-directory MODE=fuzz fuzz-built
	@sh src/make/fuzz.sh $(FUZZ_SECONDS) $(FUZZERS)
soak:
	@$(MAKE) --no-print-directory fuzz FUZZ_SECONDS=3600

# ---- bench: tests/bench/bench_NAME.c prints figures with units and ratios ---------------------
BENCHES := $(patsubst tests/bench/%.c,$(BUILD)/tests/bench/%,$(wildcard tests/bench/bench_*.c))
.PHONY: bench-built
$(BUILD)/tests/bench/bench_%: $(BUILD)/tests/bench/bench_%.o $(PROGRAM_ARCHIVES)
	$(CC) $(ALL_LDFLAGS) $< $(PROGRAM_ARCHIVES) $(ALL_LDLIBS) -o $@
bench-built: $(PROGRAM) $(BENCHES)
bench: packages packages-check
	@$(MAKE) --no-print-directory bench-built
	@SOOTBOOK=$(abspath $(PROGRAM)) sh src/make/bench.sh $(BENCHES)

# ---- coverage of all lines outside ui, screen and app -------------------------------------------
cover: packages packages-check
	@$(MAKE) --no-print-directory MODE=cover test-run
	@gcovr --root . --object-directory build/cover --filter 'src/' --exclude 'src/(ui|screen|app)/' \
	    --print-summary --fail-under-line 85 --html-details build/cover/index.html

pictures: all
	@sh src/make/pictures.sh $(PROGRAM)

format:
	clang-format -i $$(git ls-files 'src/*.c' 'src/*.h' 'tests/*.c' 'tests/*.h')

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/sootbook/photos \
	    $(DESTDIR)$(PREFIX)/share/man/man1 $(DESTDIR)$(PREFIX)/share/applications \
	    $(DESTDIR)$(PREFIX)/share/icons/hicolor/scalable/apps
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/sootbook
	install -m 644 docs/sootbook.1 $(DESTDIR)$(PREFIX)/share/man/man1/
	install -m 644 assets/sootbook.svg $(DESTDIR)$(PREFIX)/share/icons/hicolor/scalable/apps/
	install -m 644 assets/sootbook.desktop $(DESTDIR)$(PREFIX)/share/applications/
	install -m 644 samples/photos/* $(DESTDIR)$(PREFIX)/share/sootbook/photos/

# ---- pictures rendered from scenes: Blender, hours of a small machine, what is there stays --------
# samples/photos go into the sample logbook; tests/photos are measured and compared with the scene.

.PHONY: samples truth
samples:
	@sh src/make/packages.sh samples
	nice -n 19 blender -b -P samples/scene/plug.py -- --out samples/photos
truth:
	@sh src/make/packages.sh samples
	nice -n 19 blender -b -P tests/photos/truth.py
	nice -n 19 blender -b -P tests/photos/truth.py -- --large

clean:
	rm -rf build run

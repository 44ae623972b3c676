# rigtally: build, test, install. `make help` lists the targets.
#
# BUILD is the build folder; each flavour has its own:
#   make                        build/        optimised
#   make FLAVOUR=debug          build-debug/  no optimisation, asserts on
#   make FLAVOUR=sanitize       build-sanitize/  AddressSanitizer and UBSan
#   make fuzz                   build-fuzz/  clang's libFuzzer with both

FLAVOUR ?= release
CC = gcc
BUILD_release = build
BUILD_debug = build-debug
BUILD_sanitize = build-sanitize
BUILD_fuzz = build-fuzz
BUILD ?= $(BUILD_$(FLAVOUR))

WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wshadow
CFLAGS_release = -O3 -g
CFLAGS_debug = -O0 -g3
CFLAGS_sanitize = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
CFLAGS_fuzz = -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
CFLAGS += -std=c17 -D_DEFAULT_SOURCE -D_POSIX_C_SOURCE=200809L $(WARNINGS) $(CFLAGS_$(FLAVOUR)) $(EXTRA_CFLAGS)
CPPFLAGS += -Isrc -isystem /usr/include/suitesparse
LDFLAGS += $(CFLAGS_$(FLAVOUR)) $(EXTRA_CFLAGS)
LDLIBS = -lcyaml -lyaml -ljansson -lklu -lamd -lbtf -lcolamd -lsuitesparseconfig -lpthread -lm

LIBRARY_SOURCES := $(sort $(shell find src -mindepth 2 -name '*.c'))
LIBRARY_OBJECTS := $(LIBRARY_SOURCES:%.c=$(BUILD)/%.o)
DATA_FOLDERS := $(wildcard rules catalogue)
STARTERS := $(sort $(wildcard docs/starters/*.rig.yaml))
DATA_FILES := $(if $(DATA_FOLDERS),$(shell find $(DATA_FOLDERS) -type d -o -name '*.yaml')) $(STARTERS)
FUZZ_TARGETS := $(patsubst tests/fuzz/%.c,$(BUILD)/fuzz/%,$(sort $(wildcard tests/fuzz/fuzz_*.c)))
FUZZ_SECONDS ?= 5
UNIT_TESTS := $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(sort $(wildcard tests/unit/test_*.c)))

# What Debian packages have to be there: to build, to test.
BUILD_PACKAGES = gcc libc6-dev libyaml-dev libcyaml-dev libjansson-dev libsuitesparse-dev libgraphviz-dev
DEB_PACKAGES = dpkg-dev binutils
TEST_PACKAGES = libcmocka-dev units clang libclang-rt-dev valgrind jq mandoc zsh git shellcheck $(DEB_PACKAGES)
STYLE_PACKAGES = clang-format
COVERAGE_PACKAGES = clang-19 llvm-19 libclang-rt-19-dev

PREFIX ?= /usr/local
DEMO = examples/bench-warmer.rig.yaml

.PHONY: all help demo test unit fuzz fuzz-run cli clang-build leaks bench coverage format check-style reference install uninstall deb clean
.DEFAULT_GOAL = all
all: $(BUILD)/rigtally

help:
	@echo "make              build $(BUILD)/rigtally"
	@echo "make demo         install what is missing, build, judge an example rig"
	@echo "make test         install what is missing, build, run every test"
	@echo "make unit         the unit tests alone; ONLY=test_pv runs one"
	@echo "make bench        measure speed"
	@echo "make fuzz         feed the readers broken input for FUZZ_SECONDS each"
	@echo "make coverage     which lines and conditions the unit tests reach"
	@echo "make format       lay out the sources; make check-style only looks"
	@echo "make reference    kinds, attributes and rules as Markdown, in $(BUILD)/share/doc/rigtally"
	@echo "make install      to PREFIX ($(PREFIX)), below DESTDIR; make uninstall"
	@echo "make deb          a Debian package"
	@echo "FLAVOUR=debug or FLAVOUR=sanitize build in folders of their own"

# Installs the Debian packages named in $(1) that are not there yet.
define packages
@if command -v dpkg-query >/dev/null; then \
    missing=$$(for p in $(1); do \
        dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || echo $$p; done); \
    if [ -n "$$missing" ]; then \
        echo "installing" $$missing; \
        root=$$([ "$$(id -u)" = 0 ] || echo sudo); \
        $$root apt-get update -qq && \
        $$root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing >/dev/null; \
    fi; \
else echo "not a Debian: the libraries of these packages are needed:" $(1); fi
endef

demo:
	$(call packages,$(BUILD_PACKAGES))
	@$(MAKE) --no-print-directory all
	@echo; echo "$(BUILD)/rigtally check $(DEMO)"; echo
	@$(BUILD)/rigtally check $(DEMO) || test $$? -eq 1

# Everything: the unit tests as users build them, then under the sanitizers and with the other
# compiler, the command line, and a look for leaks.
test:
	$(call packages,$(BUILD_PACKAGES) $(TEST_PACKAGES))
	@$(MAKE) --no-print-directory all unit cli
	@$(MAKE) --no-print-directory FLAVOUR=sanitize all unit cli
	@$(MAKE) --no-print-directory clang-build leaks

$(BUILD)/rigtally: src/main.c $(BUILD)/librigtally.a
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/librigtally.a $(LDFLAGS) $(LDLIBS) -o $@

# The library is everything but main, with the kinds, catalogue and rules built in.
$(BUILD)/librigtally.a: $(LIBRARY_OBJECTS) $(BUILD)/builtin.o
	@mkdir -p $(@D)
	rm -f $@ && ar rcs $@ $^

# embed reads the data as rigtally itself would and writes it as const tables; wrong data
# stops the build. Folders are prerequisites too, so that a file that goes away is noticed.
$(BUILD)/libembed.a: $(LIBRARY_OBJECTS)
	@mkdir -p $(@D)
	rm -f $@ && ar rcs $@ $^

$(BUILD)/embed: src/embed.c $(BUILD)/libembed.a
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/libembed.a $(LDFLAGS) $(LDLIBS) -o $@

# embed leaves builtin.c alone when it would say the same again, so that nothing else is built anew.
$(BUILD)/builtin.stamp: $(BUILD)/embed $(DATA_FILES)
	$(BUILD)/embed $(BUILD)/builtin.c $(DATA_FOLDERS) $(STARTERS)
	@touch $@

$(BUILD)/builtin.c: $(BUILD)/builtin.stamp ;

# Long texts are data here: a compiler need not take more than 4095 characters, ours do.
$(BUILD)/builtin.o: $(BUILD)/builtin.c
	$(CC) $(CPPFLAGS) $(CFLAGS) -Wno-overlength-strings -MMD -MP -c $< -o $@

# What is installed beside the tool is written by pages from the tables of the tool and a template.
$(BUILD)/pages: src/pages.c $(BUILD)/librigtally.a
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/librigtally.a $(LDFLAGS) $(LDLIBS) -o $@

# A page PAGE of docs/templates becomes share/$(place of PAGE).
PAGES = man/man1/rigtally.1 bash-completion/completions/rigtally zsh/site-functions/_rigtally \
        doc/rigtally/kinds.md doc/rigtally/rules.md
PAGE_FILES = $(PAGES:%=$(BUILD)/share/%)
$(BUILD)/share/man/man1/rigtally.1: docs/templates/rigtally.1
$(BUILD)/share/bash-completion/completions/rigtally: docs/templates/rigtally.bash
$(BUILD)/share/zsh/site-functions/_rigtally: docs/templates/rigtally.zsh
$(BUILD)/share/doc/rigtally/kinds.md: docs/templates/kinds.md
$(BUILD)/share/doc/rigtally/rules.md: docs/templates/rules.md
$(PAGE_FILES): $(BUILD)/pages
	@mkdir -p $(@D)
	$(BUILD)/pages $(filter docs/templates/%,$^) $@

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c $< -o $@

$(BUILD)/tests/%: tests/unit/%.c tests/unit/check.h $(BUILD)/librigtally.a
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) -Itests/unit $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/librigtally.a $(LDFLAGS) $(LDLIBS) -lcmocka -o $@

# Runs every unit test, or one: make unit ONLY=test_pv
unit: $(if $(ONLY),$(BUILD)/tests/$(ONLY),$(UNIT_TESTS))
	@for t in $^; do echo "== $$t"; $$t || exit 1; done

# The command line from end to end: tests/cli/*.sh, each given the program.
cli: $(BUILD)/rigtally $(PAGE_FILES)
	@for t in $(sort $(wildcard tests/cli/*.sh)); do sh $$t $(BUILD)/rigtally || exit 1; done

# Clang sees other warnings than GCC; none may be left.
clang-build:
	@$(MAKE) --no-print-directory CC=clang BUILD=build-clang EXTRA_CFLAGS=-Werror all

# No memory may be left behind, whatever way a run ends.
leaks: $(BUILD)/rigtally
	@for f in $(sort $(wildcard examples/*.rig.yaml)); do \
	    valgrind -q --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite,indirect,possible \
	        $(BUILD)/rigtally check $$f >/dev/null; \
	    [ $$? -lt 2 ] || exit 1; done; echo "no leaks"

$(BUILD)/bench: tests/bench/bench.c
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) $< $(LDFLAGS) -lyaml -o $@

bench: all $(BUILD)/bench
	@rm -rf $(BUILD)/bench-rigs && mkdir $(BUILD)/bench-rigs
	@$(BUILD)/bench $(BUILD)/rigtally $(DEMO) $(BUILD)/bench-rigs

coverage:
	$(call packages,$(BUILD_PACKAGES) $(TEST_PACKAGES) $(COVERAGE_PACKAGES))
	@$(MAKE) --no-print-directory CC=clang-19 BUILD=build-coverage \
	    EXTRA_CFLAGS="-fprofile-instr-generate -fcoverage-mapping -fcoverage-mcdc" \
	    LLVM_PROFILE_FILE=build-coverage/%p.profraw unit
	@llvm-profdata-19 merge -o build-coverage/all.profdata build-coverage/*.profraw
	@llvm-cov-19 report --show-mcdc-summary -instr-profile=build-coverage/all.profdata \
	    $(patsubst %,-object %,$(patsubst $(BUILD)/%,build-coverage/%,$(UNIT_TESTS))) src

SOURCES = $(shell find src tests -name '*.c' -o -name '*.h')
format:
	$(call packages,$(STYLE_PACKAGES))
	clang-format -i $(SOURCES)
check-style:
	$(call packages,$(STYLE_PACKAGES))
	clang-format --dry-run -Werror $(SOURCES)

# Files of the project that go with the tool, by the folder of share that they go to.
SHARED_DATA = $(filter %.yaml,$(shell find rules catalogue -name '*.yaml'))
SHARED_DOCS = README.md LICENSE $(sort $(shell find docs -type f -not -path 'docs/templates/*') $(wildcard examples/*.rig.yaml))
SHARE = $(DESTDIR)$(PREFIX)/share

# Each file of $(2) goes to its own path below $(1), as executable as it is here.
define put
@for f in $(2); do \
    install -D -m $$(test -x $$f && echo 755 || echo 644) $$f $(1)/$$f || exit 1; done
endef

reference: $(BUILD)/share/doc/rigtally/kinds.md $(BUILD)/share/doc/rigtally/rules.md
	@echo $^

install: $(BUILD)/rigtally $(PAGE_FILES)
	install -D -m 755 $(BUILD)/rigtally $(DESTDIR)$(PREFIX)/bin/rigtally
	$(call put,$(SHARE)/rigtally,$(SHARED_DATA))
	$(call put,$(SHARE)/doc/rigtally,$(SHARED_DOCS))
	@for p in $(PAGES); do install -D -m 644 $(BUILD)/share/$$p $(SHARE)/$$p || exit 1; done

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/rigtally $(PAGES:%=$(SHARE)/%)
	rm -rf $(SHARE)/rigtally $(SHARE)/doc/rigtally

# A Debian package, $(DEB). It is put together below the build folder from what `install` installs;
# dpkg-shlibdeps reads what the program needs from the program. The tools are those of $(DEB_PACKAGES).
VERSION := $(shell sed -n 's/^\#define TOOL_VERSION "\(.*\)"/\1/p' src/command/command.h)
MAINTAINER = The makers of rigtally <makers@rigtally.invalid>
DEB_ARCHITECTURE = $(shell dpkg --print-architecture)
DEB = $(BUILD)/rigtally_$(VERSION)_$(DEB_ARCHITECTURE).deb
DEB_TREE = $(BUILD)/deb/debian/rigtally
DEB_DOC = $(DEB_TREE)/usr/share/doc/rigtally
deb: $(BUILD)/rigtally $(PAGE_FILES)
	@rm -rf $(BUILD)/deb
	@$(MAKE) -s --no-print-directory install PREFIX=/usr DESTDIR=$(DEB_TREE)
	@strip --remove-section=.comment $(DEB_TREE)/usr/bin/rigtally
	@mv $(DEB_DOC)/LICENSE $(DEB_DOC)/copyright
	@sed 's/@version@/$(VERSION)/; s/@maintainer@/$(MAINTAINER)/' docs/templates/changelog | gzip -9n >$(DEB_DOC)/changelog.gz
	@gzip -9n $(DEB_TREE)/usr/share/man/man1/rigtally.1
	@mkdir $(DEB_TREE)/DEBIAN && printf 'Source: rigtally\n' >$(BUILD)/deb/debian/control
	@depends=$$(cd $(BUILD)/deb && dpkg-shlibdeps -O debian/rigtally/usr/bin/rigtally | sed 's/^shlibs:Depends=//') && \
	    sed "s/@version@/$(VERSION)/; s/@architecture@/$(DEB_ARCHITECTURE)/; s/@maintainer@/$(MAINTAINER)/; \
	        s/@size@/$$(du -k -s $(DEB_TREE) | cut -f 1)/; s/@depends@/$$depends/" docs/templates/control >$(DEB_TREE)/DEBIAN/control
	@cd $(DEB_TREE) && find usr -type f -exec md5sum {} + | sort -k 2 >DEBIAN/md5sums
	@find $(DEB_TREE) -type d -exec chmod 755 {} +
	@dpkg-deb --root-owner-group -Zxz --build $(DEB_TREE) $(DEB)

# Gives every fuzz target FUZZ_SECONDS of made-up input, or one: make fuzz ONLY=fuzz_document.
# It begins from our own YAML; what it learns stays in build-fuzz/fuzz/ for the next time.
fuzz:
	$(MAKE) FLAVOUR=fuzz CC=clang fuzz-run

$(BUILD)/fuzz/%: tests/fuzz/%.c $(BUILD)/librigtally.a
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/librigtally.a $(LDFLAGS) -fsanitize=fuzzer $(LDLIBS) -o $@

fuzz-run: $(if $(ONLY),$(BUILD)/fuzz/$(ONLY),$(FUZZ_TARGETS))
	@for t in $^; do echo "== $$t"; mkdir -p $$t.corpus; dict=tests/fuzz/$$(basename $$t).dict; \
	  $$t -max_total_time=$(FUZZ_SECONDS) -max_len=65536 -timeout=10 -rss_limit_mb=2048 -verbosity=0 \
	    $$(test -f $$dict && echo -dict=$$dict) -artifact_prefix=$$t. $$t.corpus \
	    $(wildcard examples rules catalogue) || exit 1; done

clean:
	rm -rf build build-*

-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)

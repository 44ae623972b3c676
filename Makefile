# rigtally: build, test, install. `make help` lists the targets.
#
# BUILD is the build folder; each flavour has its own:
#   make                        build/        optimised
#   make FLAVOUR=debug          build-debug/  no optimisation, asserts on
#   make FLAVOUR=sanitize       build-sanitize/  AddressSanitizer and UBSan

FLAVOUR ?= release
CC = gcc
BUILD_release = build
BUILD_debug = build-debug
BUILD_sanitize = build-sanitize
BUILD ?= $(BUILD_$(FLAVOUR))

WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wshadow
CFLAGS_release = -O2 -g
CFLAGS_debug = -O0 -g3
CFLAGS_sanitize = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
CFLAGS += -std=c17 -D_DEFAULT_SOURCE -D_POSIX_C_SOURCE=200809L $(WARNINGS) $(CFLAGS_$(FLAVOUR)) $(EXTRA_CFLAGS)
CPPFLAGS += -Isrc -isystem /usr/include/suitesparse
LDFLAGS += $(CFLAGS_$(FLAVOUR)) $(EXTRA_CFLAGS)
LDLIBS = -lcyaml -lyaml -ljansson -lklu -lamd -lbtf -lcolamd -lsuitesparseconfig -lpthread -lm

LIBRARY_SOURCES := $(sort $(shell find src -mindepth 2 -name '*.c'))
LIBRARY_OBJECTS := $(LIBRARY_SOURCES:%.c=$(BUILD)/%.o)
DATA_FOLDERS := $(wildcard rules catalogue)
DATA_FILES := $(if $(DATA_FOLDERS),$(shell find $(DATA_FOLDERS) -type d -o -name '*.yaml'))
UNIT_TESTS := $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(sort $(wildcard tests/unit/test_*.c)))

.PHONY: all unit clean
all: $(BUILD)/librigtally.a

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
	$(BUILD)/embed $(BUILD)/builtin.c $(DATA_FOLDERS)
	@touch $@

$(BUILD)/builtin.c: $(BUILD)/builtin.stamp ;

# Long texts are data here: a compiler need not take more than 4095 characters, ours do.
$(BUILD)/builtin.o: $(BUILD)/builtin.c
	$(CC) $(CPPFLAGS) $(CFLAGS) -Wno-overlength-strings -MMD -MP -c $< -o $@

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c $< -o $@

$(BUILD)/tests/%: tests/unit/%.c tests/unit/check.h $(BUILD)/librigtally.a
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) -Itests/unit $(CFLAGS) -MMD -MP -MF $@.d $< $(BUILD)/librigtally.a $(LDFLAGS) $(LDLIBS) -lcmocka -o $@

# Runs every unit test, or one: make unit ONLY=test_pv
unit: $(if $(ONLY),$(BUILD)/tests/$(ONLY),$(UNIT_TESTS))
	@for t in $^; do echo "== $$t"; $$t || exit 1; done

clean:
	rm -rf build build-*

-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)

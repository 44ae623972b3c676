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
UNIT_TESTS := $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(sort $(wildcard tests/unit/test_*.c)))

.PHONY: all unit clean
all: $(BUILD)/librigtally.a

$(BUILD)/librigtally.a: $(LIBRARY_OBJECTS)
	@mkdir -p $(@D)
	rm -f $@ && ar rcs $@ $^

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

/* fuzz_reports.c - any bytes as a rig file, from reading to every report: it ends,
 * the sums agree, and nothing reaches a terminal that it would act on. Built and run by `make
 * fuzz`. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "command/run.h"

int LLVMFuzzerInitialize(int *count, char ***arguments);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define CHECK(what)                                                                                \
    do {                                                                                           \
        if (!(what)) {                                                                             \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what);                     \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

static struct arena *arena; /* of the workshop, for as long as the process lives */
static struct workshop workshop;

int LLVMFuzzerInitialize(int *count, char ***arguments)
{
    (void)count;
    (void)arguments;
    arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    CHECK(arena && workshop_open(arena, NULL, 0, &diagnostics, &workshop) == OUTCOME_OK);
    return 0;
}

static void check_sums(const struct judgement *judgement)
{
    size_t count = judgement->accepted;
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        count += judgement->by_level[level];
    CHECK(count == judgement->finding_count);
    CHECK(judgement->hold <= judgement->promises);
}

static void check_safe(const struct text *text)
{
    CHECK(!text->failed);
    for (size_t i = 0; i < text->length; i++)
        CHECK(text->bytes[i] == '\n' || (unsigned char)text->bytes[i] >= 0x20);
    CHECK(text->length == 0 || !strstr(text->bytes, "\x7f"));
    CHECK(text->length == 0 || !strstr(text->bytes, "\xe2\x80\xae"));
    CHECK(text->length == 0 || !strstr(text->bytes, "::"));
    CHECK(text->length == 0 || !strstr(text->bytes, "##"));
}

static void check_json(const struct text *text)
{
    json_t *root = json_loads(text->bytes, JSON_REJECT_DUPLICATES, NULL);
    CHECK(root != NULL);
    json_decref(root);
}

static void report_all(const struct report_rig *rig)
{
    const struct report_style style = {.width = 80};
    struct report_sum sum = {0};
    struct text text = {0};
    report_sum_add(&sum, rig);
    for (unsigned format = 0; format < REPORT_FORMAT_COUNT; format++) {
        text_clear(&text);
        report_begin(&text, (enum report_format)format);
        report_add(&text, (enum report_format)format, &style, rig, true);
        report_end(&text, (enum report_format)format, &style, &sum);
        check_safe(&text);
        if (format == REPORT_JSON)
            check_json(&text);
    }
    for (int json = 0; rig->rig && json < 2; json++) {
        text_clear(&text);
        report_figures_begin(&text, json != 0, &style, rig->rig);
        for (size_t i = 0; i < rig->rig->part_count; i++)
            report_figures_part(&text, json != 0, &style, rig->rig, i);
        report_figures_end(&text, json != 0);
        check_safe(&text);
        if (json)
            check_json(&text);
    }
    text_drop(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct judge_options options = {.today = "2026-06-01"};
    struct arena *own = arena_new();
    struct report_rig rig;
    CHECK(own != NULL);
    CHECK(run_bytes(own, &workshop, "fuzz.rig.yaml", (const char *)data, size, &options, &rig) ==
          OUTCOME_OK);
    check_sums(&rig.judgement);
    report_all(&rig);
    arena_drop(own);
    return 0;
}

/* batch.c - a window of reports moves over the files: threads fill it, the caller
 * writes from its front. Each thread has an arena of its own, each file a text. */
#include "command/batch.h"

#include <pthread.h>
#include <stdlib.h>

#define WINDOW_PER_JOB 4 /* reports that may be ready before they are written */

struct slot {
    struct text text, lines; /* the report; a baseline's lines */
    struct report_sum sum;   /* of the one rig */
    bool ready, no_memory;
};

struct crew {
    const struct batch *batch;
    struct slot *slots;
    size_t window;
    pthread_mutex_t lock;
    pthread_cond_t moved; /* a slot became ready or free, or the work is over */
    size_t next, written; /* files that were begun, files that were written */
    bool over;            /* no more work is to be begun */
};

static void judge_file(const struct batch *batch, struct arena *arena, size_t index,
                       struct slot *slot)
{
    struct report_rig rig;
    slot->sum = (struct report_sum){0};
    slot->no_memory = run_rig(arena, batch->workshops[index], batch->files->at[index],
                              &batch->judging, &rig) != OUTCOME_OK;
    if (!slot->no_memory && batch->record)
        baseline_add(&slot->lines, &rig);
    if (!slot->no_memory && batch->since)
        slot->no_memory = !baseline_leave_out(arena, batch->since, &rig);
    if (!slot->no_memory) {
        report_add(&slot->text, batch->format, &batch->style, &rig, index == 0);
        report_sum_add(&slot->sum, &rig);
    }
}

static void add_sum(struct report_sum *sum, const struct report_sum *more)
{
    sum->rigs += more->rigs;
    sum->unreadable += more->unreadable;
    sum->with_errors += more->with_errors;
    sum->promises += more->promises;
    sum->hold += more->hold;
    sum->accepted += more->accepted;
    sum->known += more->known;
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        sum->by_level[level] += more->by_level[level];
}

/* Hands the slot's lines on to the whole batch's. */
static void record(struct text *record, struct text *lines)
{
    if (!record)
        return;
    text_add_bytes(record, lines->length ? lines->bytes : "", lines->length);
    record->failed = record->failed || lines->failed;
    text_clear(lines);
}

static bool write_slot(const struct batch *batch, struct slot *slot, struct report_sum *sum)
{
    if (slot->no_memory) {
        complain_memory();
        return false;
    }
    report_join(&slot->text, batch->format, sum);
    record(batch->record, &slot->lines);
    add_sum(sum, &slot->sum);
    return deliver(&slot->text);
}

static bool run_alone(const struct batch *batch, struct report_sum *sum)
{
    struct slot slot = {0};
    struct arena *arena = arena_new();
    bool well = arena != NULL;
    if (!well)
        complain_memory();
    for (size_t i = 0; well && i < batch->files->count; i++) {
        judge_file(batch, arena, i, &slot);
        well = write_slot(batch, &slot, sum);
        arena_clear(arena);
    }
    text_drop(&slot.text);
    text_drop(&slot.lines);
    arena_drop(arena);
    return well;
}

/* ---- several at a time ---- */

/* Waits for room in the window; false when there is nothing more to begin. */
static bool take_next(struct crew *crew, size_t *index)
{
    bool taken = false;
    pthread_mutex_lock(&crew->lock);
    while (!crew->over && crew->next < crew->batch->files->count &&
           crew->next - crew->written >= crew->window)
        pthread_cond_wait(&crew->moved, &crew->lock);
    if (!crew->over && crew->next < crew->batch->files->count) {
        *index = crew->next++;
        taken = true;
    }
    pthread_mutex_unlock(&crew->lock);
    return taken;
}

static void *work(void *data)
{
    struct crew *crew = data;
    struct arena *arena = arena_new();
    size_t index;
    while (take_next(crew, &index)) {
        struct slot *slot = &crew->slots[index % crew->window];
        slot->no_memory = true;
        if (arena) {
            judge_file(crew->batch, arena, index, slot);
            arena_clear(arena);
        }
        pthread_mutex_lock(&crew->lock);
        slot->ready = true;
        pthread_cond_broadcast(&crew->moved);
        pthread_mutex_unlock(&crew->lock);
    }
    arena_drop(arena);
    return NULL;
}

static struct slot *await_slot(struct crew *crew, size_t index)
{
    struct slot *slot = &crew->slots[index % crew->window];
    pthread_mutex_lock(&crew->lock);
    while (!slot->ready)
        pthread_cond_wait(&crew->moved, &crew->lock);
    pthread_mutex_unlock(&crew->lock);
    return slot;
}

static void free_slot(struct crew *crew, struct slot *slot)
{
    pthread_mutex_lock(&crew->lock);
    slot->ready = false;
    crew->written++;
    pthread_cond_broadcast(&crew->moved);
    pthread_mutex_unlock(&crew->lock);
}

static bool write_all(struct crew *crew, struct report_sum *sum)
{
    bool well = true;
    for (size_t i = 0; well && i < crew->batch->files->count; i++) {
        struct slot *slot = await_slot(crew, i);
        well = write_slot(crew->batch, slot, sum);
        free_slot(crew, slot);
    }
    pthread_mutex_lock(&crew->lock);
    crew->over = true;
    pthread_cond_broadcast(&crew->moved);
    pthread_mutex_unlock(&crew->lock);
    return well;
}

static bool run_crew(struct crew *crew, pthread_t *threads, struct report_sum *sum, bool *started)
{
    unsigned count = 0;
    while (count < crew->batch->jobs && pthread_create(&threads[count], NULL, work, crew) == 0)
        count++;
    *started = count > 0;
    bool well = *started && write_all(crew, sum);
    for (unsigned i = 0; i < count; i++)
        pthread_join(threads[i], NULL);
    return well;
}

bool batch_run(const struct batch *batch, struct report_sum *sum)
{
    if (batch->jobs <= 1 || batch->files->count <= 1)
        return run_alone(batch, sum);
    struct crew crew = {.batch = batch,
                        .window = (size_t)batch->jobs * WINDOW_PER_JOB,
                        .lock = PTHREAD_MUTEX_INITIALIZER,
                        .moved = PTHREAD_COND_INITIALIZER};
    pthread_t *threads = calloc(batch->jobs, sizeof *threads);
    bool started = false, well = false;
    crew.slots = calloc(crew.window, sizeof *crew.slots);
    if (threads && crew.slots)
        well = run_crew(&crew, threads, sum, &started);
    for (size_t i = 0; crew.slots && i < crew.window; i++) {
        text_drop(&crew.slots[i].text);
        text_drop(&crew.slots[i].lines);
    }
    free(crew.slots);
    free(threads);
    return started ? well : run_alone(batch, sum);
}

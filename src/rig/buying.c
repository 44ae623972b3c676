/* buying.c - the list that a rig is ordered from. */
#include "rig/buying.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct list { /* of parts */
    size_t *at;
    size_t count, room;
};

struct items {
    struct buying_item *at;
    size_t count, room;
};

struct lengths {
    struct buying_length *at;
    size_t count, room;
};

struct holds { /* hose ends alike in outside */
    struct buying_clamps *at;
    size_t count, room;
};

/* Clamps of one part of the list that are still free. */
struct free_clamps {
    double low_m, high_m; /* NAN: size not known */
    double left;
};

struct buying {
    struct arena *arena, *scratch;
    const struct rig *rig;
    struct buying_list *out;
    double *strings; /* by part: strings of panels that a fuse stands in, else 1 */
    struct text key; /* for building strings */
    struct items items;
    struct list *of_item; /* by part (at most as many items): the parts of an item */
    struct list *of_length;
    struct lengths lengths;
    struct holds holds;
    struct list lone;
    bool no_memory;
};

static bool is(const struct part *part, const char *word)
{
    return kind_is(part->kind, word);
}

static double number_or_one(const struct part *part, const char *attribute)
{
    return part_number_or(part, attribute, 1.0);
}

/* ---- the key by which parts are the same ---- */

/* The number of the group of this key among `count` groups: that of an earlier part, or `count`. */
static size_t find_group(struct buying *buying, struct names *names, size_t count)
{
    size_t group = count;
    const char *key = buying->key.failed
                          ? NULL
                          : arena_copy(buying->scratch, buying->key.bytes, buying->key.length);
    if (!key || !names_add(names, buying->scratch, key, count, &group))
        buying->no_memory = true;
    text_clear(&buying->key);
    return group;
}

static void add_part(struct buying *buying, struct list *list, size_t part)
{
    if (!ARENA_GROW(buying->arena, list)) {
        buying->no_memory = true;
        return;
    }
    list->at[list->count++] = part;
}

static void add_price(struct buying *buying, struct buying_price *price, const struct part *part,
                      double pieces)
{
    double one = part_number(part, "price");
    struct buying_price *sums[] = {price, &buying->out->price};
    for (size_t i = 0; i < 2; i++) {
        sums[i]->known += isnan(one) ? 0.0 : one * pieces;
        sums[i]->unpriced += isnan(one) ? pieces : 0.0;
    }
}

/* ---- pieces ---- */

/* Strings in which a fuse stands: `string_fuses:` of a panel, or a fuse of its own that says so. */
static void count_strings(struct buying *buying)
{
    const struct rig *rig = buying->rig;
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct part *part = &rig->parts[i];
        if (is(part, "panel")) {
            const char *fuses = part_word(part, "string_fuses");
            size_t fuse = fuses ? rig_find_part(rig, fuses) : NO_PART;
            if (fuse != NO_PART)
                buying->strings[fuse] =
                    number_or_one(part, "parallel") * number_or_one(part, "count");
        } else if (is(part, "guard") && part_is(part, "each_string", "yes")) {
            const size_t *guarded = NULL;
            size_t count = rig_related(rig, i, "protects", &guarded);
            for (size_t k = 0; k < count; k++) {
                const struct part *panel = &rig->parts[guarded[k]];
                if (is(panel, "panel"))
                    buying->strings[i] =
                        number_or_one(panel, "parallel") * number_or_one(panel, "count");
            }
        }
    }
}

static double pieces_of(const struct buying *buying, size_t index)
{
    const struct part *part = &buying->rig->parts[index];
    double pieces = number_or_one(part, "count") * number_or_one(part, "series") *
                    number_or_one(part, "parallel");
    return fmax(pieces, buying->strings[index]); /* `count` may have told the strings already */
}

/* A number to its last bit, quicker than in decimals: every rig that is judged counts its list. */
static void add_bits(struct text *key, double number)
{
    unsigned char bytes[sizeof number];
    char digits[2 * sizeof number];
    if (isnan(number)) { /* of which there are many */
        text_add(key, "?");
        return;
    }
    memcpy(bytes, &number, sizeof number);
    for (size_t i = 0; i < sizeof number; i++) {
        digits[2 * i] = "0123456789abcdef"[bytes[i] >> 4];
        digits[2 * i + 1] = "0123456789abcdef"[bytes[i] & 15];
    }
    text_add_bytes(key, digits, sizeof digits);
}

/* What a seller would be asked for: the entry, and each figure that was written otherwise. */
static void write_key(struct text *key, const struct part *part)
{
    text_add(key, part->kind->name);
    text_add(key, "|");
    text_add(key, part->entry ? part->entry->name : "");
    for (size_t i = 0; i < part->kind->attribute_count; i++) {
        const struct part_value *value = &part->values[i];
        if (value->origin != ORIGIN_GIVEN || !part->kind->attributes[i].ask)
            continue;
        text_add(key, "|");
        text_add(key, part->kind->attributes[i].name);
        text_add(key, "=");
        if (value->value.type == VALUE_QUANTITY) {
            add_bits(key, value->value.as.quantity.value);
        } else if (value->value.type == VALUE_RANGE) {
            add_bits(key, value->value.as.range.low.value);
            add_bits(key, value->value.as.range.high.value);
        } else {
            value_print(key, &value->value, NULL);
        }
    }
}

static void add_item(struct buying *buying, struct names *names, size_t index)
{
    const struct part *part = &buying->rig->parts[index];
    write_key(&buying->key, part);
    size_t group = find_group(buying, names, buying->items.count);
    if (group == buying->items.count && !buying->no_memory) {
        if (!ARENA_GROW(buying->arena, &buying->items)) {
            buying->no_memory = true;
            return;
        }
        buying->items.at[buying->items.count++] =
            (struct buying_item){.kind = part->kind, .entry = part->entry};
    }
    if (buying->no_memory)
        return;
    struct buying_item *item = &buying->items.at[group];
    double pieces = pieces_of(buying, index);
    item->pieces += pieces;
    item->spares += part_is_spare(part) ? pieces : 0.0;
    add_price(buying, &item->price, part, pieces);
    add_part(buying, &buying->of_item[group], index);
}

/* ---- metres ---- */

/* Two parts joined without hose are no run to buy. */
static bool is_bought_run(const struct part *run)
{
    return is(run, "cable") || run->entry || !isnan(part_number(run, "bore")) ||
           !isnan(part_number(run, "length"));
}

static struct buying_length length_of(const struct part *run)
{
    bool cable = is(run, "cable");
    return (struct buying_length){.kind = run->kind,
                                  .entry = run->entry,
                                  .size = part_number(run, cable ? "area" : "bore"),
                                  .cores = cable ? part_number(run, "cores") : NAN,
                                  .material = part_word(run, "material")};
}

static void add_length(struct buying *buying, struct names *names, size_t index)
{
    const struct part *run = &buying->rig->parts[index];
    struct buying_length length = length_of(run);
    text_add(&buying->key, run->kind->name);
    text_add(&buying->key, "|");
    text_add(&buying->key, run->entry ? run->entry->name : "");
    text_add(&buying->key, "|");
    add_bits(&buying->key, length.size);
    add_bits(&buying->key, length.cores);
    text_add(&buying->key, length.material ? length.material : "");
    size_t group = find_group(buying, names, buying->lengths.count);
    if (group == buying->lengths.count && !buying->no_memory) {
        if (!ARENA_GROW(buying->arena, &buying->lengths)) {
            buying->no_memory = true;
            return;
        }
        buying->lengths.at[buying->lengths.count++] = length;
    }
    if (buying->no_memory)
        return;
    struct buying_length *sum = &buying->lengths.at[group];
    double metres = part_number(run, "length"), pieces = number_or_one(run, "count");
    if (isnan(metres))
        sum->unmeasured += pieces;
    else /* one core alone goes out, another comes back */
        sum->length_m += metres * pieces * (length.cores == 1.0 ? 2.0 : 1.0);
    add_price(buying, &sum->price, run, pieces);
    add_part(buying, &buying->of_length[group], index);
}

/* ---- clamps ---- */

static bool begins(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

static bool is_pushed_on(const char *port)
{
    return begins(port, "barb") || begins(port, "plain");
}

/* Does a fitting take a hose at one of its ends? One that names none counts as barbed. */
static bool fitting_takes_hose(const struct part *fitting)
{
    const struct part_value *ends = part_value(fitting, "ends");
    if (!ends || ends->value.type != VALUE_IDS)
        return true;
    for (size_t i = 0; i < ends->value.as.words.count; i++)
        if (is_pushed_on(ends->value.as.words.at[i]))
            return true;
    return false;
}

/* Is a hose's end at this part pushed over a barb or a plain tube? `side` is the part's. */
static bool is_barbed(const struct buying *buying, size_t index, const char *side)
{
    if (index == NO_PART)
        return false;
    const struct part *part = &buying->rig->parts[index];
    if (is(part, "fitting"))
        return fitting_takes_hose(part);
    const char *port = part_word(part, side);
    port = port ? port : part_word(part, "port");
    if (port)
        return is_pushed_on(port);
    return is(part, "water-part") && !is(part, "tank") && !is(part, "outlet");
}

static bool is_hose(const struct part *run)
{
    static const char *const hoses[] = {"pvc-hose", "epdm-hose", "silicone-hose", "rubber-hose"};
    const char *material = part_word(run, "material");
    for (size_t i = 0; material && i < sizeof hoses / sizeof *hoses; i++)
        if (strcmp(material, hoses[i]) == 0)
            return true;
    return !material; /* as the rules of ports take it */
}

static double named_barbs(const struct part *run)
{
    const struct part_value *value = part_value(run, "fittings");
    double sum = 0.0;
    if (!value || value->value.type != VALUE_FITTINGS)
        return sum;
    for (size_t i = 0; i < value->value.as.fittings.count; i++)
        if (strcmp(value->value.as.fittings.at[i].name, "barb") == 0)
            sum += value->value.as.fittings.at[i].number;
    return sum;
}

/* Ends of one hose that want a clamp. */
static double ends_of(const struct buying *buying, const struct part *run)
{
    const char *first = part_word(run, "from_port"), *second = part_word(run, "to_port");
    bool loose = part_word(run, "ends") != NULL; /* free or under water */
    double ends = 0.0;
    ends += first ? is_pushed_on(first) : is_barbed(buying, run->from, "outlet_port");
    if (!loose)
        ends += second ? is_pushed_on(second) : is_barbed(buying, run->to, "inlet_port");
    for (size_t i = 0; i < run->through_count; i++) {
        ends += is_barbed(buying, run->through[i].part, "inlet_port");
        ends += is_barbed(buying, run->through[i].part, "outlet_port");
    }
    return fmax(ends, named_barbs(run));
}

static double outside_of(const struct part *run)
{
    double outside = part_number(run, "outside");
    return isnan(outside) ? part_number(run, "bore") + 2.0 * part_number(run, "wall") : outside;
}

static void add_hold(struct buying *buying, struct names *names, const struct part *run)
{
    double ends = is_hose(run) ? ends_of(buying, run) * number_or_one(run, "count") : 0.0;
    if (!(ends > 0.0) || part_is_spare(run))
        return;
    struct buying_clamps hold = {.outside_m = outside_of(run), .bore_m = part_number(run, "bore")};
    add_bits(&buying->key, hold.outside_m);
    size_t group = find_group(buying, names, buying->holds.count);
    if (group == buying->holds.count && !buying->no_memory) {
        if (!ARENA_GROW(buying->arena, &buying->holds)) {
            buying->no_memory = true;
            return;
        }
        buying->holds.at[buying->holds.count++] = hold;
    }
    if (buying->no_memory)
        return;
    buying->holds.at[group].ends += ends;
    buying->out->barbed_ends += ends;
}

/* Unknown sizes last. */
static int compare_sizes(double a, double b)
{
    if (isnan(a) || isnan(b))
        return isnan(a) - isnan(b);
    return (a > b) - (a < b);
}

static int compare_holds(const void *a, const void *b)
{
    const struct buying_clamps *x = a, *y = b;
    return compare_sizes(x->outside_m, y->outside_m);
}

/* Of the clamps that hold this outside, the one that reaches least far: hoses come from thin to
 * thick, so that whatever it leaves can hold more of those to come than it could. */
static struct free_clamps *best_clamps(struct free_clamps *clamps, size_t count, double outside_m)
{
    struct free_clamps *best = NULL;
    double slack = 1e-9 * outside_m;
    for (size_t i = 0; i < count; i++) {
        if (clamps[i].left <= 0.0 || !(clamps[i].low_m <= outside_m + slack) ||
            !(clamps[i].high_m >= outside_m - slack))
            continue;
        if (!best || clamps[i].high_m < best->high_m)
            best = &clamps[i];
    }
    return best;
}

static void take_clamps(struct buying_clamps *hold, struct free_clamps *clamps)
{
    double taken = fmin(hold->ends - hold->clamped, clamps->left);
    hold->clamped += taken;
    clamps->left -= taken;
}

static void share_clamps(const struct holds *holds, struct free_clamps *clamps, size_t count)
{
    for (size_t i = 0; i < holds->count; i++) {
        struct buying_clamps *hold = &holds->at[i];
        struct free_clamps *best = NULL;
        while (!isnan(hold->outside_m) && hold->clamped < hold->ends &&
               (best = best_clamps(clamps, count, hold->outside_m)))
            take_clamps(hold, best);
    }
    for (size_t i = 0; i < holds->count; i++) /* what is not known may fit */
        for (size_t k = 0; k < count; k++)
            if (isnan(holds->at[i].outside_m) || isnan(clamps[k].low_m))
                take_clamps(&holds->at[i], &clamps[k]);
}

static void count_clamps(struct buying *buying)
{
    const struct rig *rig = buying->rig;
    struct free_clamps *clamps =
        ARENA_TAKE(buying->scratch, rig->part_count + 1, struct free_clamps);
    size_t count = 0;
    if (!clamps) {
        buying->no_memory = true;
        return;
    }
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct part *part = &rig->parts[i];
        if (!is(part, "clamp") || part_is_spare(part))
            continue;
        clamps[count] = (struct free_clamps){NAN, NAN, number_or_one(part, "count")};
        part_range(part, "size", &clamps[count].low_m, &clamps[count].high_m);
        buying->out->clamps_listed += clamps[count++].left;
    }
    if (buying->holds.count)
        qsort(buying->holds.at, buying->holds.count, sizeof *buying->holds.at, compare_holds);
    share_clamps(&buying->holds, clamps, count);
    for (size_t i = 0; i < buying->holds.count; i++)
        buying->out->clamped_ends += buying->holds.at[i].clamped;
}

/* ---- plugs ---- */

static void note_plug(struct buying *buying, struct names *names, const char *pattern,
                      const char *half)
{
    const char *key = arena_join(buying->scratch, half, "|", pattern);
    if (!key || !names_add(names, buying->scratch, key, 0, NULL))
        buying->no_memory = true;
}

static bool has_plug(struct buying *buying, const struct names *names, const char *pattern,
                     const char *half)
{
    size_t found;
    text_add(&buying->key, half);
    text_add(&buying->key, "|");
    text_add(&buying->key, pattern);
    bool has = !buying->key.failed && names_find(names, buying->key.bytes, &found);
    buying->no_memory = buying->no_memory || buying->key.failed;
    text_clear(&buying->key);
    return has;
}

static void find_lone_plugs(struct buying *buying)
{
    const struct rig *rig = buying->rig;
    struct names *names = names_new(buying->scratch);
    buying->no_memory = buying->no_memory || !names;
    for (size_t i = 0; i < rig->part_count && !buying->no_memory; i++) {
        const struct part *part = &rig->parts[i];
        const char *pattern = is(part, "plug")    ? part_word(part, "pattern")
                              : is(part, "panel") ? part_word(part, "plug")
                                                  : NULL;
        const char *half = is(part, "plug") ? part_word(part, "half") : "panel";
        if (pattern && half)
            note_plug(buying, names, pattern, half);
    }
    for (size_t i = 0; i < rig->part_count && !buying->no_memory; i++) {
        const struct part *part = &rig->parts[i];
        const char *pattern = part_word(part, "pattern"), *half = part_word(part, "half");
        if (!is(part, "plug") || part_is_spare(part) || !pattern || !half)
            continue;
        if (!has_plug(buying, names, pattern, strcmp(half, "pin") == 0 ? "socket" : "pin") &&
            !has_plug(buying, names, pattern, "panel"))
            add_part(buying, &buying->lone, i);
    }
}

/* ---- the whole ---- */

static int compare_lengths(const void *a, const void *b)
{
    const struct buying_length *x = a, *y = b;
    int order = compare_sizes(x->size, y->size);
    order = order ? order : compare_sizes(x->cores, y->cores);
    return order ? order : (x->runs[0] > y->runs[0]) - (x->runs[0] < y->runs[0]);
}

/* Cables before pipes, each by size. */
static void sort_lengths(struct buying *buying)
{
    struct lengths *lengths = &buying->lengths;
    struct buying_length *sorted =
        ARENA_TAKE(buying->arena, lengths->count + 1, struct buying_length);
    size_t count = 0;
    if (!sorted) {
        buying->no_memory = true;
        return;
    }
    for (size_t pass = 0; pass < 2; pass++) {
        size_t first = count;
        for (size_t i = 0; i < lengths->count; i++)
            if (kind_is(lengths->at[i].kind, pass == 0 ? "cable" : "pipe"))
                sorted[count++] = lengths->at[i];
        if (count > first)
            qsort(sorted + first, count - first, sizeof *sorted, compare_lengths);
        if (pass == 0)
            buying->out->cable_count = count;
    }
    buying->out->cables = sorted;
    buying->out->pipes = sorted + buying->out->cable_count;
    buying->out->pipe_count = count - buying->out->cable_count;
}

static void gather(struct buying *buying)
{
    const struct rig *rig = buying->rig;
    struct names *items = names_new(buying->scratch), *lengths = names_new(buying->scratch),
                 *holds = names_new(buying->scratch);
    buying->no_memory = buying->no_memory || !items || !lengths || !holds;
    for (size_t i = 0; i < rig->part_count && !buying->no_memory; i++) {
        const struct part *part = &rig->parts[i];
        if (i == rig->site || i == rig->whole || part_is(part, "bought", "no"))
            continue;
        if (!is(part, "run")) {
            add_item(buying, items, i);
        } else if (is_bought_run(part)) {
            add_length(buying, lengths, i);
            if (is(part, "pipe"))
                add_hold(buying, holds, part);
        }
    }
}

static void hand_out(struct buying *buying)
{
    struct buying_list *out = buying->out;
    for (size_t i = 0; i < buying->items.count; i++) {
        buying->items.at[i].parts = buying->of_item[i].at;
        buying->items.at[i].part_count = buying->of_item[i].count;
    }
    for (size_t i = 0; i < buying->lengths.count; i++) {
        buying->lengths.at[i].runs = buying->of_length[i].at;
        buying->lengths.at[i].run_count = buying->of_length[i].count;
    }
    sort_lengths(buying);
    out->items = buying->items.at;
    out->item_count = buying->items.count;
    out->clamps = buying->holds.at;
    out->clamp_count = buying->holds.count;
    out->lone_plugs = buying->lone.at;
    out->lone_plug_count = buying->lone.count;
}

static bool take_room(struct buying *buying)
{
    size_t count = buying->rig->part_count + 1;
    buying->out = ARENA_TAKE(buying->arena, 1, struct buying_list);
    buying->strings = ARENA_TAKE(buying->scratch, count, double);
    buying->of_item = ARENA_TAKE(buying->scratch, count, struct list);
    buying->of_length = ARENA_TAKE(buying->scratch, count, struct list);
    if (!buying->out || !buying->strings || !buying->of_item || !buying->of_length)
        return false;
    for (size_t i = 0; i < count; i++)
        buying->strings[i] = 1.0;
    return true;
}

const struct buying_list *buying_list(struct arena *arena, const struct rig *rig)
{
    struct buying buying = {.arena = arena, .scratch = arena_new(), .rig = rig};
    if (!buying.scratch)
        return NULL;
    buying.no_memory = !take_room(&buying);
    if (!buying.no_memory) {
        count_strings(&buying);
        gather(&buying);
    }
    if (!buying.no_memory) {
        count_clamps(&buying);
        find_lone_plugs(&buying);
        hand_out(&buying);
    }
    text_drop(&buying.key);
    arena_drop(buying.scratch);
    return buying.no_memory ? NULL : buying.out;
}

static double metres_of(const struct buying_length *lengths, size_t count, double size,
                        double *unmeasured)
{
    double metres = 0.0, without = 0.0;
    for (size_t i = 0; i < count; i++) {
        if (!(fabs(lengths[i].size - size) <= 1e-9 * size))
            continue;
        metres += lengths[i].length_m;
        without += lengths[i].unmeasured;
    }
    if (unmeasured)
        *unmeasured = without;
    return metres;
}

double buying_cable_m(const struct buying_list *list, double area_m2, double *unmeasured)
{
    return metres_of(list->cables, list->cable_count, area_m2, unmeasured);
}

double buying_pipe_m(const struct buying_list *list, double bore_m, double *unmeasured)
{
    return metres_of(list->pipes, list->pipe_count, bore_m, unmeasured);
}

/* test_store.c - kinds, catalogue and rules: what good files give, what bad ones
 * are told and where, and that what is built in is what the folders hold. */
#include "check.h"
#include "store/store.h"
#include "store/value_read.h"

#define FOLDER "tests/unit/data/store"

struct loaded {
    struct arena *arena;
    struct diagnostics diagnostics;
    struct store store;
};

static void begin(struct loaded *loaded)
{
    *loaded = (struct loaded){.arena = arena_new()};
    assert_non_null(loaded->arena);
    loaded->diagnostics.arena = loaded->arena;
}

static void end(struct loaded *loaded)
{
    arena_drop(loaded->arena);
}

static void tell(const struct diagnostics *diagnostics)
{
    for (size_t i = 0; i < diagnostics->count; i++)
        print_error("%s:%u:%u: %s\n", diagnostics->at[i].at.file ? diagnostics->at[i].at.file : "-",
                    diagnostics->at[i].at.line, diagnostics->at[i].at.column,
                    diagnostics->at[i].message);
}

static enum outcome add(struct loaded *loaded, const char *text)
{
    return store_add_bytes(loaded->arena, &loaded->store, "x.yaml", text, strlen(text),
                           &loaded->diagnostics);
}

static void add_good_folder(struct loaded *loaded)
{
    enum outcome outcome =
        store_add_folder(loaded->arena, &loaded->store, FOLDER, &loaded->diagnostics);
    tell(&loaded->diagnostics);
    assert_int_equal(outcome, OUTCOME_OK);
    assert_int_equal(loaded->diagnostics.count, 0);
}

static void expect_one(const struct diagnostics *diagnostics, const char *what, unsigned line,
                       unsigned column, const char *message)
{
    bool good = diagnostics->count == 1 && diagnostics->at[0].at.line == line &&
                diagnostics->at[0].at.column == column &&
                (!message || strcmp(diagnostics->at[0].message, message) == 0);
    if (good)
        return;
    print_error("%s\nis told (%zu):\n", what, diagnostics->count);
    tell(diagnostics);
    print_error("instead of %u:%u: %s\n", line, column, message ? message : "anything");
    fail();
}

static const struct attribute *attribute_of(const struct kind *kind, const char *name)
{
    int index = kind_attribute(kind, name);
    assert_true(index >= 0);
    return &kind->attributes[index];
}

static void kinds_of_a_folder(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    const struct store *store = &loaded.store;
    assert_int_equal(store->kind_count, 2);
    assert_int_equal(store->common_count, 2);
    const struct kind *lamp = store_kind(store, "lamp");
    assert_non_null(lamp);
    assert_null(store_kind(store, "lamps"));
    assert_string_equal(lamp->about, "Gives light.");
    assert_true(kind_is(lamp, "load") && kind_is(lamp, "lamp") && kind_is(lamp, "part"));
    assert_false(kind_is(lamp, "mast"));
    assert_int_equal(lamp->attribute_count, 17);
    assert_string_equal(lamp->attributes[0].name, "height");
    assert_string_equal(lamp->attributes[1].name, "note");
    assert_string_equal(lamp->attributes[0].assume, "2 m"); /* in the lamp's own words */
    assert_null(store_kind(store, "mast")->attributes[0].assume);
    assert_int_equal(kind_attribute(lamp, "curve"), 13);
    assert_int_equal(kind_attribute(lamp, "bulb"), -1);
    end(&loaded);
}

static void attributes_have_their_types(void **state)
{
    static const struct {
        const char *name;
        enum value_type type;
    } rows[] = {
        {"voltage", VALUE_QUANTITY},  {"voltage_range", VALUE_RANGE}, {"lens", VALUE_WORD},
        {"load_modes", VALUE_WORDS},  {"pieces", VALUE_QUANTITY},     {"note", VALUE_TEXT},
        {"sits_on", VALUE_ID},        {"senses", VALUE_IDS},          {"curve", VALUE_POINTS},
        {"fittings", VALUE_FITTINGS},
    };
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    const struct kind *lamp = store_kind(&loaded.store, "lamp");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(attribute_of(lamp, rows[i].name)->type, rows[i].type);
    assert_int_equal(attribute_of(lamp, "amps")->solved, SOLVED_EACH_CONDITION);
    assert_int_equal(attribute_of(lamp, "life")->solved, SOLVED_ONCE);
    assert_int_equal(attribute_of(lamp, "voltage")->solved, SOLVED_NO);
    assert_true(attribute_of(lamp, "warmest")->dimension.absolute);
    assert_true(attribute_of(lamp, "band")->difference);
    assert_string_equal(attribute_of(lamp, "voltage")->unit, "V");
    assert_string_equal(attribute_of(lamp, "pieces")->unit, "");
    const struct attribute *lens = attribute_of(lamp, "lens");
    assert_int_equal(lens->word_count, 3);
    assert_string_equal(lens->words[2], "amber");
    assert_int_equal(lens->assume_at.line, 9);
    assert_int_equal(lens->assume_at.column, 63);
    end(&loaded);
}

static void entries_keep_flow_text(void **state)
{
    static const char *const texts[][2] = {
        {"voltage", "12 V"},
        {"lens", "amber"},
        {"load_modes", "[always, timed]"},
        {"voltage_range", "9 .. 15 V"},
        {"fittings", "{ elbow: 3, tee: { number: 1, k: 2 } }"},
        {"note", "\"Say \\\"when\\\": #1?\""},
    };
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    const struct entry *entry = store_entry(&loaded.store, "lamp-2.5w");
    assert_non_null(entry);
    assert_string_equal(entry->kind, "lamp");
    assert_int_equal(entry->value_count, 6);
    for (size_t i = 0; i < 6; i++) {
        struct value value;
        assert_string_equal(entry->values[i].attribute, texts[i][0]);
        assert_string_equal(entry->values[i].text, texts[i][1]);
        const struct attribute *attribute =
            attribute_of(store_kind(&loaded.store, "lamp"), entry->values[i].attribute);
        assert_int_equal(value_read_text(loaded.arena, entry->values[i].text, entry->values[i].at,
                                         attribute, &loaded.diagnostics, &value),
                         OUTCOME_OK);
        assert_int_equal(value.type, attribute->type);
    }
    assert_int_equal(entry->values[1].at.line, 5);
    assert_int_equal(entry->values[1].at.column, 36);
    end(&loaded);
}

static void a_rule_has_its_texts_and_places(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    const struct rule *rule = store_rule(&loaded.store, "lamp.gets-its-voltage");
    assert_non_null(rule);
    assert_string_equal(rule->pairing.text, "lamp");
    assert_string_equal(rule->under.text, "bright-noon");
    assert_string_equal(rule->error_unless.text, "lamp.voltage >= lowest");
    assert_int_equal(rule->error_unless.at.line, 13);
    assert_int_equal(rule->error_unless.at.column, 19);
    assert_null(rule->caution_unless.text);
    assert_string_equal(rule->because, "A lamp needs its voltage.\n");
    assert_int_equal(rule->practice, PRACTICE_IEC);
    assert_int_equal(rule->let_count, 1);
    assert_string_equal(rule->lets[0].name, "lowest");
    assert_string_equal(rule->lets[0].formula.text, "low(lamp.voltage_range)");
    assert_int_equal(rule->lets[0].formula.at.line, 12);
    assert_int_equal(rule->lets[0].formula.at.column, 15);
    assert_int_equal(rule->source_count, 2);
    assert_int_equal(rule->sources[0].practice, PRACTICE_ANY);
    assert_int_equal(rule->sources[1].practice, PRACTICE_IEC);
    assert_int_equal(rule->proof_count, 3);
    assert_string_equal(rule->proofs[1].expect, "holds");
    assert_true(rule->proofs[1].limit && !rule->proofs[0].limit);
    assert_int_equal(rule->proofs[2].given_count, 2);
    assert_string_equal(rule->proofs[2].given[0].name, "lamp.voltage");
    assert_string_equal(rule->proofs[2].given[0].value, "8 V");
    end(&loaded);
}

struct bad {
    const char *text;
    unsigned line, column;
    const char *message;
};

#define PUMP "kinds:\n  - kind: pump\n    about: x\n    attributes:\n      - "
#define RULE                                                                                       \
    "rules:\n  - rule: lamp.glows\n    pairing: lamp\n    error_unless: lamp.voltage > 3 V\n"      \
    "    says: no\n    because: x\n"

/* Each on an empty store. Where the message is NULL the words are the document layer's. */
static const struct bad bad_kinds[] = {
    {"kindz: []\n", 1, 1, "a file of rules, kinds or parts has no 'kindz'; did you mean kinds?"},
    {"kinds: pump\n", 1, 8, "kinds takes a list, each item after a dash, but there is a text."},
    {"kinds:\n  - pump\n", 2, 5, "a kind is a mapping of keys to values, but there is a text."},
    {"kinds:\n  - kind: pump\n", 2, 5, "a kind needs the key about."},
    {"- a\n", 1, 1,
     "a file of rules, kinds or parts is a mapping of keys to values, but there is a list."},
    {"kinds:\n  - kind: Pump\n    about: x\n", 2, 11,
     "'Pump' is no name for a kind; small letters, digits and single hyphens between them are."},
    {"kinds:\n  - kind: pump\n    about: x\n    groups: load\n", 4, 13,
     "groups takes a list, as [one, two], but there is a text."},
    {"kinds:\n  - kind: pump\n    about: x\n    ports: [Power]\n", 4, 13,
     "'Power' is no name; small letters, digits and single hyphens between them are."},
    {"kinds:\n  - kind: pump\n    about: x\n    atributes: []\n", 4, 5,
     "a kind has no 'atributes'; did you mean attributes?"},
    {"kinds:\n  - kind: pump\n    about: x\n    wattage: 5\n", 4, 5,
     "a kind has no 'wattage'; it may have kind, about, groups, ports or attributes."},
    {PUMP "{ name: volt age, unit: V }\n", 5, 17,
     "'volt age' is no name for an attribute; small letters, digits and single _ between them "
     "are."},
    {PUMP "{ name: voltage }\n", 5, 9, "voltage needs a unit, words or a type."},
    {PUMP "{ name: voltage, unit: VV }\n", 5, 32, "'VV' is no unit that is known here."},
    {PUMP "{ name: voltage, unit: }\n", 5, 32, "unit takes a text, but there is nothing."},
    {PUMP "{ name: voltage, unit: V, words: [a] }\n", 5, 9,
     "voltage has a unit, and so neither words nor a type."},
    {PUMP "{ name: voltage, type: number }\n", 5, 32,
     "'number' is no type; there are word, words, text, id, ids, points or fittings."},
    {PUMP "{ name: voltage, type: text, list: yes }\n", 5, 44, "text cannot be a list."},
    {PUMP "{ name: voltage, unit: V, range: true }\n", 5, 42, "range takes yes or no, not 'true'."},
    {PUMP "{ name: voltage, unit: V, minimum: 3 A }\n", 5, 44,
     "minimum of voltage is not in V or the like."},
    {PUMP "{ name: voltage, unit: V, maximum: 3,5 V }\n", 5, 46,
     "'5 V' stands alone after a comma; a decimal comma must be a point, as in 3.5."},
    {PUMP "{ name: kind, words: [a], maximum: 3 }\n", 5, 44,
     "kind has no unit, and so no maximum."},
    {PUMP "{ name: voltage, unit: V, assume: 3 V }\n", 5, 43,
     "voltage is assumed, but nothing says because of what."},
    {PUMP "{ name: voltage, unit: V, may_be: -5 .. 5 % }\n", 5, 43,
     "may_be, weaker and doubt go together."},
    {PUMP "{ name: voltage, unit: V, weaker: low, doubt: why }\n", 5, 43,
     "may_be, weaker and doubt go together."},
    {PUMP "{ name: voltage, unit: V, may_be: -5 .. 5 %, weaker: left, doubt: why }\n", 5, 62,
     "weaker takes low or high, not 'left'."},
    {PUMP "{ name: voltage, unit: V, may_be: -5 %, weaker: low, doubt: why }\n", 5, 43,
     "-5 % is not a range; write its low end, two points, its high end."},
    {PUMP "{ name: voltage, unit: V, may_be: -5 .. 5 A, weaker: low, doubt: why }\n", 5, 43,
     "-5 .. 5 A tells no share in % and no difference that could be added to voltage."},
    {PUMP "{ name: warmth, unit: degC, may_be: -5 .. 5 degC, weaker: low, doubt: why }\n", 5, 45,
     "-5 .. 5 degC tells no share in % and no difference that could be added to warmth."},
    {PUMP "{ name: voltage, unit: V, may_be: 1 .. 5 %, weaker: low, doubt: why }\n", 5, 43,
     "1 .. 5 % should hold 0, which is what the label says."},
    {PUMP "{ name: voltage, unit: V, may_be: 0 .. 0 V, weaker: low, doubt: why }\n", 5, 43,
     "0 .. 0 V should hold 0, which is what the label says."},
    {PUMP "{ name: voltage, unit: V, may_be: -100 .. 0 %, weaker: low, doubt: why }\n", 5, 43,
     "-100 .. 0 % leaves nothing of voltage."},
    {PUMP "{ name: voltage, unit: V, solved: yes, may_be: -5 .. 0 %, weaker: low, doubt: why }\n",
     5, 56, "voltage is no figure of a label, and so no may_be goes with it."},
    {PUMP "{ name: port, type: text, may_be: -5 .. 0 %, weaker: low, doubt: why }\n", 5, 43,
     "port is no figure of a label, and so no may_be goes with it."},
    {PUMP "{ name: voltage, unit: V, solved: maybe }\n", 5, 43,
     "solved takes yes, once or no, not 'maybe'."},
    {PUMP "{ name: warming, unit: h, solved: once, of: degX }\n", 5, 53,
     "'degX' is no unit that is known here."},
    {PUMP "{ name: warming, unit: h, solved: yes, of: degC }\n", 5, 52,
     "warming is of something else, so it needs a unit and `solved: once`."},
    {PUMP "{ name: warming, words: [a], solved: once, of: degC }\n", 5, 56,
     "warming is of something else, so it needs a unit and `solved: once`."},
    {PUMP "{ name: head, unit: m, customary: feed }\n", 5, 43,
     "'feed' is no unit that is known here."},
    {PUMP "{ name: head, unit: m, customary: psi }\n", 5, 43, "head cannot be told in psi."},
    {PUMP "{ name: type, words: [a], customary: ft }\n", 5, 46, "type cannot be told in ft."},
    {PUMP "{ name: voltage, unit: V, difference: yes }\n", 5, 47,
     "voltage is a temperature difference, so its unit is K."},
    {PUMP "{ name: drift, unit: \"%/K\", also: V/K, also_divided_by: voltage }\n", 5, 65,
     "there is no attribute 'voltage' here."},
    {PUMP "{ name: drift, unit: \"%/K\", also: V/K }\n", 5, 43,
     "also and also_divided_by go together."},
    {PUMP "{ name: current, unit: A }\n      - { name: drift, unit: \"%/K\", also: V/K, "
          "also_divided_by: current }\n",
     6, 43, "V/K divided by current is not in %/K."},
    {PUMP "{ name: current, unit: A }\n      - { name: current, unit: A }\n", 6, 9,
     "current is there already."},
    {"kinds:\n  - { kind: pump, about: x }\n  - { kind: pump, about: y }\n", 3, 5,
     "pump is there already."},
    {"common:\n  - { name: height, unit: m }\nkinds:\n  - kind: pump\n    about: x\n    "
     "attributes:\n      - { name: height, unit: V }\n",
     7, 9, "height is common to every part, and is of another type there."},
    {"common:\n  - { name: height, unit: m }\n  - { name: height, unit: m }\n", 3, 5,
     "height is there already."},
    {"kinds: []\nkinds: []\n", 2, 1, NULL},
    {"kinds: []\n---\nrules: []\n", 2, 1, NULL},
    {"\n", 1, 1, NULL},
    {"# nothing\n", 1, 1, NULL},
    {"kinds:\n", 1, 7, "kinds takes a list, each item after a dash, but there is nothing."},
    {"kinds: !!seq []\n", 1, 8, NULL},
    {"kinds: [\n", 1, 8, NULL},
};

/* Each on the store of the test folder. */
static const struct bad bad_parts_and_rules[] = {
    {"catalogue:\n  - { entry: a b, kind: lamp, about: x }\n", 2, 14,
     "'a b' is no name for an entry; small letters, digits and single hyphens or points between "
     "them are."},
    {"catalogue:\n  - { entry: lamp-2.5w, kind: lamp, about: x }\n", 2, 5,
     "lamp-2.5w is there already."},
    {"catalogue:\n  - { entry: x, kind: lampp, about: x }\n", 2, 23,
     "there is no kind 'lampp'; did you mean lamp?"},
    {"catalogue:\n  - { entry: x, kind: zeppelin, about: x }\n", 2, 23,
     "there is no kind 'zeppelin'."},
    {"catalogue:\n  - { entry: x, kind: lamp, about: x }\n  - { entry: x, kind: lamp, about: x }\n",
     3, 5, "x is there already."},
    {"catalogue:\n  - { entry: x, kind: lamp, about: x, values: [voltage] }\n", 2, 47,
     "values takes names with values, as { name: value }, but there is a list."},
    {"kinds:\n  - { kind: lamp, about: x }\n", 2, 5, "lamp is there already."},
    {"common:\n  - { name: colour, type: text }\n", 2, 3,
     "what is common to every part is settled with the first kinds; these come later."},
    {"rules:\n  - rule: lamp\n    pairing: lamp\n    error_unless: lamp.voltage > 3 V\n    says: "
     "no\n    because: x\n",
     2, 11, "'lamp' is no name for a rule; family.words-with-hyphens is."},
    {"rules:\n  - rule: lamp.a.b\n    pairing: lamp\n    error_unless: lamp.voltage > 3 V\n    "
     "says: no\n    because: x\n",
     2, 11, "'lamp.a.b' is no name for a rule; family.words-with-hyphens is."},
    {"rules:\n  - rule: Lamp.glows\n    pairing: lamp\n    error_unless: lamp.voltage > 3 V\n    "
     "says: no\n    because: x\n",
     2, 11, "'Lamp.glows' is no name for a rule; family.words-with-hyphens is."},
    {"rules:\n  - rule: lamp.gets-its-voltage\n    pairing: lamp\n    error_unless: lamp.voltage > "
     "3 V\n    says: no\n    because: x\n",
     2, 5, "lamp.gets-its-voltage is there already."},
    {"rules:\n  - rule: lamp.glows\n    error_unless: lamp.voltage > 3 V\n    says: no\n    "
     "because: x\n",
     2, 5, "a rule needs the key pairing."},
    {RULE "    under: bright-non\n", 7, 12,
     "there is no condition 'bright-non'; did you mean bright-noon?"},
    {RULE "    under: night\n", 7, 12,
     "there is no condition 'night'; under takes every, bright-noon, cloud-edge, weak-sun, "
     "cold-dawn, dark, dead-end or standstill."},
    {RULE "    practice: europe\n", 7, 15, "practice takes iec or north-america, not 'europe'."},
    {"rules:\n  - rule: lamp.glows\n    pairing: lamp\n    says: no\n    because: x\n", 2, 5,
     "a rule needs error_unless, caution_unless or remind."},
    {RULE "    remind: x\n", 7, 13, "a rule that judges cannot remind as well; make it two rules."},
    {"rules:\n  - rule: lamp.glows\n    pairing: lamp\n    error_unless: lamp.voltage > 3 V\n    "
     "because: x\n",
     2, 5, "a rule needs the key says."},
    {RULE "    caution_says: x\n", 7, 19,
     "caution_says is never said: the rule has no caution_unless."},
    {RULE "    error_unles: x\n", 7, 5, "a rule has no 'error_unles'; did you mean error_unless?"},
    {RULE "    let: { A: 3 }\n", 7, 12,
     "'A' is no name for a value; small letters, digits and single _ between them are."},
    {RULE "    let: { a: [3] }\n", 7, 15, "a needs a formula."},
    {RULE "    let: 3\n", 7, 10,
     "let takes names with values, as { name: value }, but there is a text."},
    {RULE "    sources: [x]\n", 7, 15,
     "a source is a mapping of keys to values, but there is a text."},
    {RULE "    sources: [{ text: x, practice: us }]\n", 7, 36,
     "practice takes iec or north-america, not 'us'."},
    {RULE "    proofs: [{ given: { lamp.voltage: 3 V }, expect: caution }]\n", 7, 54,
     "caution cannot come about: the rule has no caution_unless."},
    {RULE "    proofs: [{ given: { lamp.voltage: 3 V }, expect: fails }]\n", 7, 54,
     "expect takes holds, error, caution, question, reminder or not-asked, not 'fails'."},
    {RULE "    proofs: [{ given: { lamp.voltage: 3 V }, expect: holds, limit: true }]\n", 7, 68,
     "limit takes yes or no, not 'true'."},
    {RULE "    proofs: [{ expect: not-asked }]\n", 7, 24,
     "not-asked cannot come about: the rule has no when."},
};

static void run_bad(const struct bad *row, bool on_folder)
{
    struct loaded loaded;
    begin(&loaded);
    if (on_folder)
        add_good_folder(&loaded);
    struct store before = loaded.store;
    enum outcome outcome = add(&loaded, row->text);
    diagnostics_sort(&loaded.diagnostics);
    expect_one(&loaded.diagnostics, row->text, row->line, row->column, row->message);
    assert_int_equal(outcome, OUTCOME_REFUSED);
    assert_memory_equal(&before, &loaded.store, sizeof before);
    end(&loaded);
}

static void bad_kinds_are_told_where(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad_kinds / sizeof *bad_kinds; i++)
        run_bad(&bad_kinds[i], false);
}

static void bad_parts_and_rules_are_told_where(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad_parts_and_rules / sizeof *bad_parts_and_rules; i++)
        run_bad(&bad_parts_and_rules[i], true);
}

/* As `values:` of a lamp; columns are of line 5, whose text begins in column 15. */
static const struct bad bad_values[] = {
    {"voltage: 12", 5, 24, "12 has no unit; voltage takes V or mV."},
    {"voltage: 12 A", 5, 24, "12 A is a current; voltage takes V or mV."},
    {"voltage: 2000 V", 5, 24, "2000 V is too much; voltage is at most 1500 V."},
    {"voltage: -1 V", 5, 24, "-1 V is too little; voltage is at least 0 V."},
    {"voltage: 5 .. 6 V", 5, 24, "voltage takes one value, not a range."},
    {"voltage: [12 V]", 5, 24, "voltage takes one value, but there is a list."},
    {"voltage: { a: 1 }", 5, 24, "voltage takes one value, but there is a mapping."},
    {"voltage: ~", 5, 24, "voltage is empty; give it one value or leave it out."},
    {"voltage: \"\"", 5, 24, "voltage is empty; give it one value or leave it out."},
    {"voltage: yes", 5, 24, "yes does not begin with a number."},
    {"voltag: 12 V", 5, 15, "a lamp has no 'voltag'; did you mean voltage?"},
    {"blimp: 12 V", 5, 15, "a lamp has no 'blimp'."},
    {"amps: 3 A", 5, 15, "amps is worked out, so no part can list it."},
    {"voltage_range: 12 V", 5, 30,
     "12 V is not a range; write its low end, two points, its high end."},
    {"voltage_range: 15 .. 9 V", 5, 30, "15 .. 9 V has its low end above its high end."},
    {"voltage_range: 9 .. 15", 5, 30, "9 .. 15 has no unit; voltage_range takes V or mV."},
    {"voltage_range: 9 V .. 15 A", 5, 30, "9 V .. 15 A has ends of different kinds."},
    {"voltage_range: 9 .. 2000 V", 5, 30,
     "9 .. 2000 V is too much; voltage_range is at most 1500 V."},
    {"lens: ambr", 5, 21, "lens cannot be 'ambr'; did you mean amber?"},
    {"lens: purple", 5, 21, "lens cannot be 'purple'; it takes clear, frosted or amber."},
    {"lens: [clear]", 5, 21, "lens takes a word, but there is a list."},
    {"load_modes: [always, while-sn]", 5, 36,
     "load_modes cannot be 'while-sn'; did you mean while-sun?"},
    {"load_modes: [always, [timed]]", 5, 36, "load_modes takes a word, but there is a list."},
    {"pieces: 3 V", 5, 23, "3 V has a unit; pieces takes a bare number."},
    {"pieces: 0x10", 5, 23, "0x10 has a unit that is not known."},
    {"pieces: 1e999", 5, 23, "1e999 is too large a number."},
    {"pieces: nan", 5, 23, "nan is not a finite number."},
    {"voc_temp: -60 mV", 5, 25, "-60 mV is a voltage; voc_temp takes %/K."},
    {"band: 40 K", 5, 21, "40 K is too much; band is at most 20 K."},
    {"band: 40 degF", 5, 21, "40 degF is too much; band is at most 36 degF."},
    {"band: 5", 5, 21, "5 has no unit; band takes K."},
    {"warmest: 5 K", 5, 24, "5 K is a temperature difference; warmest takes degC or degF."},
    {"wet: true", 5, 20, "wet takes yes or no; write yes in place of 'true'."},
    {"wet: On", 5, 20, "wet takes yes or no; write yes in place of 'On'."},
    {"wet: maybe", 5, 20, "wet cannot be 'maybe'; it takes yes or no."},
    {"wet: Yes", 5, 20, "wet takes yes or no; write yes in place of 'Yes'."},
    {"sits_on: [a, b]", 5, 24, "sits_on takes the id of a part, but there is a list."},
    {"curve: [0 L/h, 4 m]", 5, 23, "a point of curve is [flow, head], as [120 L/h, 2.5 m]."},
    {"curve: []", 5, 22, "curve takes points, flow first, as [[0 L/h, 4 m], [420 L/h, 0 m]]."},
    {"curve: [[0 L/h]]", 5, 23, "a point of curve is [flow, head], as [120 L/h, 2.5 m]."},
    {"curve: [[0, 4 m]]", 5, 24,
     "0 has no unit; the first figure of a point takes L/h, L/min or gal/min."},
    {"fittings: { elbw: 3 }", 5, 27, "fittings has no 'elbw'; did you mean elbow?"},
    {"fittings: { elbow: x }", 5, 34, "x does not begin with a number."},
    {"fittings: { elbow: -1 }", 5, 34, "-1 is less than none; elbow takes zero or more."},
    {"fittings: { elbow: { numbr: 1 } }", 5, 36,
     "a fitting has no 'numbr'; it may have number or k."},
    {"fittings: { elbow: { number: 1, k: 1,2 } }", 5, 52,
     "'2' stands alone after a comma; a decimal comma must be a point, as in 3.5."},
    {"fittings: 3", 5, 25, "fittings takes names with numbers, as { elbow: 3 }."},
    {"note: [a]", 5, 21, "note takes a text, but there is a list."},
};

static void bad_values_are_told_where(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad_values / sizeof *bad_values; i++) {
        char text[512];
        snprintf(
            text, sizeof text,
            "catalogue:\n  - entry: lamp-1\n    kind: lamp\n    about: x\n    values: { %s }\n",
            bad_values[i].text);
        struct bad row = bad_values[i];
        row.text = text;
        run_bad(&row, true);
    }
}

static struct value good_value(struct loaded *loaded, const char *name, const char *text)
{
    struct value value;
    const struct attribute *attribute = attribute_of(store_kind(&loaded->store, "lamp"), name);
    enum outcome outcome = value_read_text(loaded->arena, text, (struct place){"x.yaml", 7, 3},
                                           attribute, &loaded->diagnostics, &value);
    tell(&loaded->diagnostics);
    assert_int_equal(outcome, OUTCOME_OK);
    assert_int_equal(value.type, attribute->type);
    return value;
}

/* Values by the definitions of the units: SI brochure; 0 degF is -160/9 degC. */
static void quantities_are_in_si(void **state)
{
    static const struct {
        const char *name, *text;
        double si;
    } rows[] = {
        {"voltage", "12 V", 12.0},
        {"voltage", "24V", 24.0},
        {"voltage", "\"500 mV\"", 0.5},
        {"pieces", "3", 3.0},
        {"pieces", "010", 10.0}, /* no octal */
        {"pieces", "50 %", 0.5},
        {"voc_temp", "-0.3 %/K", -0.003},
        {"voc_temp", "-60 mV/K", -0.06}, /* the second unit, not divided here */
        {"band", "5 K", 5.0},
        {"band", "5 degC", 5.0},
        {"band", "9 degF", 5.0},
        {"warmest", "40 degC", 40.0},
        {"warmest", "212 degF", 100.0},
    };
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct value value = good_value(&loaded, rows[i].name, rows[i].text);
        assert_close(value.as.quantity.value, rows[i].si, 1e-12);
    }
    assert_false(good_value(&loaded, "band", "9 degF").as.quantity.dimension.absolute);
    assert_true(good_value(&loaded, "warmest", "40 degC").as.quantity.dimension.absolute);
    assert_string_equal(good_value(&loaded, "voltage", "500 mV").unit, "mV");
    end(&loaded);
}

static void other_values(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    struct value range = good_value(&loaded, "voltage_range", "6 .. 26 V");
    assert_close(range.as.range.low.value, 6.0, 0.0);
    assert_close(range.as.range.high.value, 26.0, 0.0);
    assert_string_equal(good_value(&loaded, "lens", "frosted").as.word, "frosted");
    assert_string_equal(good_value(&loaded, "wet", "no").as.word, "no");
    assert_string_equal(good_value(&loaded, "sits_on", "mast").as.word, "mast");
    struct value words = good_value(&loaded, "load_modes", "[timed, always]");
    assert_int_equal(words.as.words.count, 2);
    assert_string_equal(words.as.words.at[1], "always");
    assert_int_equal(good_value(&loaded, "load_modes", "timed").as.words.count, 1);
    assert_int_equal(good_value(&loaded, "load_modes", "[]").as.words.count, 0);
    struct value points = good_value(&loaded, "curve", "[[0 L/h, 4 m], [360 L/h, 50 cm]]");
    assert_int_equal(points.as.points.count, 2);
    assert_close(points.as.points.at[1].x.value, 1e-4, 1e-18);
    assert_close(points.as.points.at[1].y.value, 0.5, 1e-15);
    struct value fittings =
        good_value(&loaded, "fittings", "{ elbow: 3, tee: { number: 2, k: 1.5 } }");
    assert_int_equal(fittings.as.fittings.count, 2);
    assert_string_equal(fittings.as.fittings.at[0].name, "elbow");
    assert_close(fittings.as.fittings.at[0].number, 3.0, 0.0);
    assert_true(isnan(fittings.as.fittings.at[0].k));
    assert_close(fittings.as.fittings.at[1].number, 2.0, 0.0);
    assert_close(fittings.as.fittings.at[1].k, 1.5, 0.0);
    end(&loaded);
}

/* Two faults of one value, both told. */
static void every_fault_is_told(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    assert_int_equal(add(&loaded, "catalogue:\n  - entry: lamp-1\n    kind: lamp\n    about: x\n"
                                  "    values: { curve: [[4 m, 0 L/h]], voltage: 3,5 V }\n"),
                     OUTCOME_REFUSED);
    assert_int_equal(loaded.diagnostics.count, 4);
    end(&loaded);
}

/* What libcyaml would make something else of, were it not text throughout. */
static void texts_stay_texts(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    add_good_folder(&loaded);
    assert_int_equal(add(&loaded,
                         "rules:\n  - rule: lamp.glows\n    pairing: lamp\n    remind: 010\n"
                         "    says: 24V\n    mend: true\n    because: \"null\"\n"),
                     OUTCOME_OK);
    const struct rule *rule = store_rule(&loaded.store, "lamp.glows");
    assert_string_equal(rule->remind.text, "010");
    assert_string_equal(rule->says.text, "24V");
    assert_string_equal(rule->mend.text, "true");
    assert_string_equal(rule->because, "null");
    assert_null(rule->when.text);
    assert_non_null(store_rule(&loaded.store, "lamp.gets-its-voltage"));
    end(&loaded);
}

static void refused(const char *text, size_t length)
{
    struct loaded loaded;
    begin(&loaded);
    assert_int_equal(
        store_add_bytes(loaded.arena, &loaded.store, "x.yaml", text, length, &loaded.diagnostics),
        OUTCOME_REFUSED);
    assert_true(loaded.diagnostics.count > 0 && loaded.diagnostics.count <= 1100);
    assert_int_equal(loaded.store.kind_count, 0);
    end(&loaded);
}

/* Aliases that would grow to 9^9 texts, brackets that make the parser slow, bytes that are no text.
 */
static void hostile_files_are_refused(void **state)
{
    static const char bomb[] =
        "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\n"
        "c: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: &d [*c,*c,*c,*c,*c,*c,*c,*c,*c]\n"
        "e: &e [*d,*d,*d,*d,*d,*d,*d,*d,*d]\nkinds: [*e,*e,*e,*e,*e,*e,*e,*e,*e]\n";
    static char deep[100000];
    static const char zero[] = "kinds: []\0";
    (void)state;
    refused(bomb, sizeof bomb - 1);
    memset(deep, '[', sizeof deep);
    refused(deep, sizeof deep);
    refused(zero, sizeof zero - 1);
    refused("\xff\xfe", 2);
    refused("kinds:\n  - {kind: \"a\\0b\", about: x}\n", 34);
}

/* `head`, `item` so many times, `tail`. */
static char *repeat(struct arena *arena, const char *head, const char *item, size_t count,
                    const char *tail)
{
    size_t room = strlen(head) + count * (strlen(item) + 8) + strlen(tail) + 1;
    char *text = ARENA_TAKE(arena, room, char);
    assert_non_null(text);
    int at = sprintf(text, "%s", head);
    for (size_t i = 0; i < count; i++)
        at += snprintf(text + at, room - (size_t)at, item, i);
    snprintf(text + at, room - (size_t)at, "%s", tail);
    return text;
}

static void limits_are_named_when_they_are_passed(void **state)
{
    static const struct {
        const char *head, *item, *tail;
        size_t most;
        const char *message;
    } rows[] = {
        {"kinds:\n", "- {kind: a%zu, about: x}\n", "", 500,
         "there are 500 kinds already, which is the most."},
        {"kinds:\n- kind: a\n  about: x\n  attributes:\n", "  - {name: a%zu, type: text}\n", "",
         300, "attributes has 301 items; it may have 300."},
        {"common:\n", "- {name: a%zu, type: text}\n", "", 300,
         "common has 301 items; it may have 300."},
        {"kinds:\n- kind: a\n  about: x\n  attributes:\n  - {name: a, words: [", "a%zu,", "]}\n",
         300, "words has 301 items; it may have 300."},
        {"rules:\n- rule: a.b\n  pairing: a\n  remind: x\n  because: y\n  let:\n", "    a%zu: 1\n",
         "", 100, "let has 101 items; it may have 100."},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct loaded loaded;
        begin(&loaded);
        struct store empty = loaded.store;
        assert_int_equal(add(&loaded, repeat(loaded.arena, rows[i].head, rows[i].item, rows[i].most,
                                             rows[i].tail)),
                         OUTCOME_OK);
        loaded.store = empty;
        assert_int_equal(add(&loaded, repeat(loaded.arena, rows[i].head, rows[i].item,
                                             rows[i].most + 1, rows[i].tail)),
                         OUTCOME_REFUSED);
        assert_int_equal(loaded.diagnostics.count, 1);
        assert_string_equal(loaded.diagnostics.at[0].message, rows[i].message);
        end(&loaded);
    }
}

static void a_thousand_faults_are_enough(void **state)
{
    static const char *const texts[][2] = {
        {"kinds:\n", "- {kin: a%zu}\n"},
        {"catalogue:\n", "- {entry: a%zu, kind: zeppelin, about: x}\n"},
        {"catalogue:\n- entry: a\n  kind: lamp\n  about: x\n  values:\n", "    b%zu: 1\n"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct loaded loaded;
        begin(&loaded);
        add_good_folder(&loaded);
        assert_int_equal(add(&loaded, repeat(loaded.arena, texts[i][0], texts[i][1], 3000, "")),
                         OUTCOME_REFUSED);
        assert_int_equal(loaded.diagnostics.count, 1001);
        assert_string_equal(loaded.diagnostics.at[1000].message,
                            "1000 faults stand before this one. Reading stopped here.");
        end(&loaded);
    }
}

static void folders_and_files_that_are_not_there(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    assert_int_equal(
        store_add_folder(loaded.arena, &loaded.store, FOLDER "/nowhere", &loaded.diagnostics),
        OUTCOME_REFUSED);
    assert_int_equal(
        store_add_file(loaded.arena, &loaded.store, FOLDER "/nowhere.yaml", &loaded.diagnostics),
        OUTCOME_REFUSED);
    assert_int_equal(loaded.diagnostics.count, 2);
    assert_int_equal(
        store_add_file(loaded.arena, &loaded.store, FOLDER "/kinds/mast.yaml", &loaded.diagnostics),
        OUTCOME_OK);
    assert_non_null(store_kind(&loaded.store, "mast"));
    end(&loaded);
}

static void same_text(const char *a, const char *b)
{
    if (a && b)
        assert_string_equal(a, b);
    else
        assert_true(a == b);
}

static void same_texts(const char *const *a, size_t a_count, const char *const *b, size_t b_count)
{
    assert_int_equal(a_count, b_count);
    for (size_t i = 0; i < a_count; i++)
        assert_string_equal(a[i], b[i]);
}

static void same_attributes(const struct attribute *a, const struct attribute *b, size_t count)
{
    for (size_t i = 0; i < count; i++, a++, b++) {
        same_text(a->name, b->name);
        assert_int_equal(a->type, b->type);
        assert_true(dimension_same(a->dimension, b->dimension));
        same_text(a->unit, b->unit);
        same_text(a->also_unit, b->also_unit);
        same_text(a->customary, b->customary);
        same_text(a->also_divided_by, b->also_divided_by);
        same_texts(a->words, a->word_count, b->words, b->word_count);
        same_text(a->about, b->about);
        same_text(a->ask, b->ask);
        same_text(a->assume, b->assume);
        same_text(a->because, b->because);
        same_text(a->minimum, b->minimum);
        same_text(a->maximum, b->maximum);
        assert_int_equal(a->difference, b->difference);
        same_text(a->may_be, b->may_be);
        same_text(a->doubt, b->doubt);
        assert_int_equal(a->may_share, b->may_share);
        assert_int_equal(a->weaker_high, b->weaker_high);
        assert_close(a->may_low, b->may_low, 0.0);
        assert_close(a->may_high, b->may_high, 0.0);
        assert_int_equal(a->solved, b->solved);
    }
}

static void same_kinds(const struct store *a, const struct store *b)
{
    assert_int_equal(a->kind_count, b->kind_count);
    assert_int_equal(a->common_count, b->common_count);
    same_attributes(a->common, b->common, a->common_count);
    for (size_t i = 0; i < a->kind_count; i++) {
        const struct kind *x = &a->kinds[i], *y = &b->kinds[i];
        same_text(x->name, y->name);
        same_text(x->about, y->about);
        same_texts(x->groups, x->group_count, y->groups, y->group_count);
        same_texts(x->ports, x->port_count, y->ports, y->port_count);
        assert_int_equal(x->attribute_count, y->attribute_count);
        same_attributes(x->attributes, y->attributes, x->attribute_count);
    }
}

static void same_entries(const struct store *a, const struct store *b)
{
    assert_int_equal(a->entry_count, b->entry_count);
    for (size_t i = 0; i < a->entry_count; i++) {
        const struct entry *x = &a->entries[i], *y = &b->entries[i];
        same_text(x->name, y->name);
        same_text(x->kind, y->kind);
        same_text(x->about, y->about);
        assert_int_equal(x->value_count, y->value_count);
        for (size_t j = 0; j < x->value_count; j++) {
            same_text(x->values[j].attribute, y->values[j].attribute);
            same_text(x->values[j].text, y->values[j].text);
        }
    }
}

static void same_proofs(const struct rule *a, const struct rule *b)
{
    assert_int_equal(a->proof_count, b->proof_count);
    for (size_t i = 0; i < a->proof_count; i++) {
        const struct rule_proof *x = &a->proofs[i], *y = &b->proofs[i];
        same_text(x->expect, y->expect);
        assert_int_equal(x->limit, y->limit);
        assert_int_equal(x->given_count, y->given_count);
        for (size_t j = 0; j < x->given_count; j++) {
            same_text(x->given[j].name, y->given[j].name);
            same_text(x->given[j].value, y->given[j].value);
        }
    }
}

static void same_rule(const struct rule *a, const struct rule *b)
{
    same_text(a->name, b->name);
    same_text(a->pairing.text, b->pairing.text);
    same_text(a->under.text, b->under.text);
    same_text(a->when.text, b->when.text);
    same_text(a->error_unless.text, b->error_unless.text);
    same_text(a->caution_unless.text, b->caution_unless.text);
    same_text(a->remind.text, b->remind.text);
    same_text(a->says.text, b->says.text);
    same_text(a->caution_says.text, b->caution_says.text);
    same_text(a->mend.text, b->mend.text);
    same_text(a->because, b->because);
    assert_int_equal(a->practice, b->practice);
    assert_int_equal(a->let_count, b->let_count);
    for (size_t i = 0; i < a->let_count; i++) {
        same_text(a->lets[i].name, b->lets[i].name);
        same_text(a->lets[i].formula.text, b->lets[i].formula.text);
    }
    assert_int_equal(a->source_count, b->source_count);
    for (size_t i = 0; i < a->source_count; i++) {
        same_text(a->sources[i].text, b->sources[i].text);
        assert_int_equal(a->sources[i].practice, b->sources[i].practice);
    }
    same_proofs(a, b);
}

static void add_if_there(struct loaded *loaded, const char *folder)
{
    struct loaded probe;
    begin(&probe);
    if (store_add_folder(loaded->arena, &loaded->store, folder, &probe.diagnostics) != OUTCOME_OK)
        assert_string_equal(probe.diagnostics.at[0].message, "this folder can't be read.");
    end(&probe);
}

/* The tables in the binary against the folders that they were made from. */
static void what_is_built_in_is_what_the_folders_hold(void **state)
{
    (void)state;
    struct loaded loaded;
    struct store builtin;
    begin(&loaded);
    add_if_there(&loaded, "rules");
    add_if_there(&loaded, "catalogue");
    store_builtin(&builtin);
    same_kinds(&builtin, &loaded.store);
    same_entries(&builtin, &loaded.store);
    assert_int_equal(builtin.rule_count, loaded.store.rule_count);
    for (size_t i = 0; i < builtin.rule_count; i++)
        same_rule(&builtin.rules[i], &loaded.store.rules[i]);
    for (size_t i = 0; i < builtin.kind_count; i++)
        assert_ptr_equal(store_kind(&builtin, builtin.kinds[i].name), &builtin.kinds[i]);
    for (size_t i = 0; i < builtin.entry_count; i++)
        assert_ptr_equal(store_entry(&builtin, builtin.entries[i].name), &builtin.entries[i]);
    for (size_t i = 0; i < builtin.rule_count; i++)
        assert_ptr_equal(store_rule(&builtin, builtin.rules[i].name), &builtin.rules[i]);
    end(&loaded);
}

/* A kind that is added later begins with what is built in as common to all. */
static void adding_to_what_is_built_in(void **state)
{
    (void)state;
    struct loaded loaded;
    begin(&loaded);
    store_builtin(&loaded.store);
    size_t before = loaded.store.kind_count, rules = loaded.store.rule_count;
    assert_int_equal(loaded.store.sound_rule_count, rules);
    assert_int_equal(add(&loaded, RULE), OUTCOME_OK);
    assert_int_equal(loaded.store.rule_count, rules + 1);
    assert_int_equal(loaded.store.sound_rule_count, rules);
    assert_int_equal(add(&loaded, "kinds:\n  - kind: weather-vane\n    about: Turns.\n"),
                     OUTCOME_OK);
    const struct kind *vane = store_kind(&loaded.store, "weather-vane");
    assert_non_null(vane);
    assert_int_equal(loaded.store.kind_count, before + 1);
    assert_int_equal(loaded.store.sound_rule_count, 0); /* it may be of a group that rules name */
    assert_int_equal(vane->attribute_count, loaded.store.common_count);
    same_attributes(vane->attributes, loaded.store.common, loaded.store.common_count);
    assert_non_null(store_kind(&loaded.store, "pump"));
    end(&loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(kinds_of_a_folder),
        cmocka_unit_test(attributes_have_their_types),
        cmocka_unit_test(entries_keep_flow_text),
        cmocka_unit_test(a_rule_has_its_texts_and_places),
        cmocka_unit_test(bad_kinds_are_told_where),
        cmocka_unit_test(bad_parts_and_rules_are_told_where),
        cmocka_unit_test(bad_values_are_told_where),
        cmocka_unit_test(quantities_are_in_si),
        cmocka_unit_test(other_values),
        cmocka_unit_test(every_fault_is_told),
        cmocka_unit_test(texts_stay_texts),
        cmocka_unit_test(hostile_files_are_refused),
        cmocka_unit_test(limits_are_named_when_they_are_passed),
        cmocka_unit_test(a_thousand_faults_are_enough),
        cmocka_unit_test(folders_and_files_that_are_not_there),
        cmocka_unit_test(what_is_built_in_is_what_the_folders_hold),
        cmocka_unit_test(adding_to_what_is_built_in),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

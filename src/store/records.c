/* records.c - libcyaml fills the records: every field a string, no aliases, and
 * nothing said on stderr. Its schema comes from the rows in records.h. */
#include "store/records.h"

#include <cyaml/cyaml.h>

static const cyaml_schema_value_t text_schema = {
    CYAML_VALUE_STRING(CYAML_FLAG_POINTER, char, 0, CYAML_UNLIMITED)};

#define FLAG_NEEDED CYAML_FLAG_DEFAULT
#define FLAG_OPTIONAL CYAML_FLAG_OPTIONAL

/* RECORD_TYPE is set before each expansion, as the macros of libcyaml want the structure's type. */
#define FIELD_TEXT(key, need)                                                                      \
    CYAML_FIELD_STRING_PTR(#key, FLAG_##need, RECORD_TYPE, key, 0, CYAML_UNLIMITED),
#define FIELD_TEXTS(key, need, most)                                                               \
    CYAML_FIELD_SEQUENCE(#key, FLAG_##need | CYAML_FLAG_POINTER, RECORD_TYPE, key, &text_schema,   \
                         0, CYAML_UNLIMITED),
#define FIELD_MAP(key, need, most) CYAML_FIELD_IGNORE(#key, FLAG_##need),
#define FIELD_LIST(key, need, most, record)                                                        \
    CYAML_FIELD_SEQUENCE(#key, FLAG_##need | CYAML_FLAG_POINTER, RECORD_TYPE, key,                 \
                         &record##_schema, 0, CYAML_UNLIMITED),
#define FIELDS(KEYS)                                                                               \
    {                                                                                              \
        KEYS(FIELD_TEXT, FIELD_TEXTS, FIELD_MAP, FIELD_LIST) CYAML_FIELD_END                       \
    }
#define VALUE(fields)                                                                              \
    {                                                                                              \
        CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, RECORD_TYPE, fields)                               \
    }

#define RECORD_TYPE struct record_attribute
static const cyaml_schema_field_t attribute_fields[] = FIELDS(ATTRIBUTE_KEYS);
static const cyaml_schema_value_t attribute_schema = VALUE(attribute_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_kind
static const cyaml_schema_field_t kind_fields[] = FIELDS(KIND_KEYS);
static const cyaml_schema_value_t kind_schema = VALUE(kind_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_entry
static const cyaml_schema_field_t entry_fields[] = FIELDS(ENTRY_KEYS);
static const cyaml_schema_value_t entry_schema = VALUE(entry_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_source
static const cyaml_schema_field_t source_fields[] = FIELDS(SOURCE_KEYS);
static const cyaml_schema_value_t source_schema = VALUE(source_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_proof
static const cyaml_schema_field_t proof_fields[] = FIELDS(PROOF_KEYS);
static const cyaml_schema_value_t proof_schema = VALUE(proof_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_rule
static const cyaml_schema_field_t rule_fields[] = FIELDS(RULE_KEYS);
static const cyaml_schema_value_t rule_schema = VALUE(rule_fields);
#undef RECORD_TYPE
#define RECORD_TYPE struct record_file
static const cyaml_schema_field_t file_fields[] = FIELDS(FILE_KEYS);
static const cyaml_schema_value_t file_schema = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_POINTER, struct record_file, file_fields)};
#undef RECORD_TYPE

/* No log function: libcyaml's own prints raw keys. */
static const cyaml_config_t config = {
    .mem_fn = cyaml_mem,
    .log_level = CYAML_LOG_ERROR,
    .flags = CYAML_CFG_NO_ALIAS,
};

enum outcome records_load(const char *bytes, size_t length, struct record_file **out,
                          const char **why)
{
    cyaml_data_t *data = NULL;
    cyaml_err_t error =
        cyaml_load_data((const uint8_t *)bytes, length, &config, &file_schema, &data, NULL);
    *out = data;
    if (error == CYAML_OK && data)
        return OUTCOME_OK;
    /* These bytes have been through libyaml once, so that all that it can lack now is memory. */
    if (error == CYAML_ERR_OOM || error == CYAML_ERR_LIBYAML_PARSER_INIT ||
        error == CYAML_ERR_LIBYAML_PARSER)
        return OUTCOME_NO_MEMORY;
    *why = error == CYAML_OK ? "nothing in it" : cyaml_strerror(error);
    return OUTCOME_REFUSED;
}

void records_drop(struct record_file *records)
{
    if (records)
        cyaml_free(&config, &file_schema, records, 0);
}

/* csv.h - reads the tables of the optional reference folder, row by row, by the
 * names in their header. */
#ifndef RT_CSV_H
#define RT_CSV_H
#include <stdbool.h>

#include "check.h"

enum { CSV_FIELDS = 40 };

struct csv {
    FILE *file;
    char header[2048], line[4096];
    char *names[CSV_FIELDS], *fields[CSV_FIELDS];
    int columns, rows;
};

/* Cuts a line at its commas in place; quoted fields lose their quotes. */
static inline int csv_cut_(char *line, char **fields)
{
    int count = 0;
    char *to = line;
    for (char *from = line; *from && count < CSV_FIELDS; count++) {
        bool quoted = *from == '"';
        fields[count] = to;
        from += quoted;
        while (*from && *from != '\r' && *from != '\n' && (quoted || *from != ',')) {
            if (quoted && *from == '"' && from[1] != '"') {
                quoted = false;
                from++;
                continue;
            }
            from += quoted && *from == '"';
            *to++ = *from++;
        }
        bool more = *from == ',';
        from += *from != '\0';
        *to++ = '\0';
        if (!more)
            return count + 1;
    }
    return count;
}

/* Opens tables/NAME; false, having said that the test is skipped, without it. */
static inline bool csv_open(struct csv *csv, const char *name)
{
    const char *folder = reference_folder();
    char path[4096];
    snprintf(path, sizeof path, "%s/tables/%s", folder ? folder : "", name);
    csv->file = folder ? fopen(path, "rb") : NULL;
    csv->rows = 0;
    if (!csv->file || !fgets(csv->header, sizeof csv->header, csv->file)) {
        print_message("skipped: no reference table %s\n", name);
        return false;
    }
    csv->columns = csv_cut_(csv->header, csv->names);
    return true;
}

/* The next row; false at the end, which closes the file. A table without rows fails. */
static inline bool csv_next(struct csv *csv)
{
    for (int i = 0; i < CSV_FIELDS; i++)
        csv->fields[i] = "";
    if (fgets(csv->line, sizeof csv->line, csv->file)) {
        csv_cut_(csv->line, csv->fields);
        csv->rows++;
        return true;
    }
    fclose(csv->file);
    assert_true(csv->rows > 0);
    return false;
}

/* A field of the row; a column that the table has not fails the test. */
static inline const char *csv_text(const struct csv *csv, const char *column)
{
    for (int i = 0; i < csv->columns; i++)
        if (!strcmp(csv->names[i], column))
            return csv->fields[i];
    print_error("the table has no column %s\n", column);
    fail();
    return "";
}

/* A field as a number; NAN when it is empty. */
static inline double csv_number(const struct csv *csv, const char *column)
{
    const char *text = csv_text(csv, column);
    return *text ? strtod(text, NULL) : NAN;
}
#endif

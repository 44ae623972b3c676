/* lines.c - one line for each finding, in the form of the GNU Coding Standards
 * (section 4.4, Formatting Error Messages): file:line:column: level: words. For
 * editors and scripts. Accepted findings are left out. */
#include "report/formats.h"

void lines_begin(struct text *out)
{
    (void)out;
}

static void add_place(struct text *out, const char *file, const struct place *place)
{
    const char *name = place->file ? place->file : file;
    if (name)
        escape_path(out, name);
    else
        text_add(out, "built in");
    if (!place->line)
        return;
    text_add(out, ":");
    text_add_number(out, place->line, 1);
    text_add(out, ":");
    text_add_number(out, place->column, 1);
}

static void add_line(struct text *out, const char *file, const struct finding *finding)
{
    add_place(out, file, &finding->at);
    text_add(out, ": ");
    text_add(out, level_name(finding->level));
    text_add(out, ": ");
    escape_terminal(out, finding->message ? finding->message : "");
    if (finding->mend) {
        text_add(out, " To mend: ");
        escape_terminal(out, finding->mend);
    }
    if (finding->also.line) {
        text_add(out, " See also ");
        add_place(out, file, &finding->also);
        text_add(out, ".");
    }
    text_add(out, " (");
    escape_terminal(out, finding->rule);
    if (finding->has_condition) {
        text_add(out, " at ");
        text_add(out, condition_name(finding->condition));
    }
    text_add(out, ")\n");
}

void lines_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                   bool first)
{
    const struct judgement *judgement = &rig->judgement;
    size_t printed = 0, total = judgement->finding_count - judgement->accepted;
    (void)style;
    (void)first;
    for (size_t i = 0; i < judgement->finding_count && printed < REPORT_FINDINGS_MAX; i++) {
        if (judgement->findings[i].accepted)
            continue;
        add_line(out, rig->file, &judgement->findings[i]);
        printed++;
    }
    if (printed == total)
        return;
    escape_path(out, rig->file);
    text_print(out, ": reminder: %zu findings are printed of %zu.\n", printed, total);
}

void lines_end(struct text *out, const struct report_style *style, const struct report_sum *sum)
{
    (void)out;
    (void)style;
    (void)sum;
}

void report_diagnostics(struct text *out, const struct diagnostics *diagnostics)
{
    for (size_t i = 0; i < diagnostics->count; i++) {
        const struct diagnostic *mistake = &diagnostics->at[i];
        struct finding finding = {.rule = mistake->topic,
                                  .level = mistake->level,
                                  .at = mistake->at,
                                  .also = mistake->also,
                                  .message = mistake->message};
        add_line(out, NULL, &finding);
    }
}

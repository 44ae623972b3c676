/* table.c - the commands. A further one is a row here and a function in this folder;
 * help, man page and completions follow. */
#include "command/command.h"

#define BIT(option) (1u << OPTION_##option)
#define OWN_FOLDERS (BIT(RULES) | BIT(CATALOGUE))

const struct command commands[] = {
    {"check", "[FILE|FOLDER]...", OPERAND_RIGS, "judge rigs, and tell what does not tally",
     "A folder means every *.rig.yaml below it; nothing named means this folder.\n"
     "Status: 0 nothing at the failing level or above, 1 findings, 2 the work could not be done.\n",
     BIT(FORMAT) | BIT(FAIL_AT) | BIT(ONLY) | BIT(UNDER) | BIT(BRIEF) | BIT(TODAY) | BIT(JOBS) |
         BIT(WRITE_BASELINE) | BIT(SINCE_BASELINE) | BIT(COLOR) | OWN_FOLDERS,
     0, SIZE_MAX, true, command_check},
    {"figures", "FILE", OPERAND_RIGS, "every figure of a rig: where it comes from, and its working",
     "Status: 0, or 1 when the file has mistakes that touch the figures, or 2.\n",
     BIT(FORMAT) | BIT(BRIEF) | BIT(COLOR) | OWN_FOLDERS, 1, 1, false, command_figures},
    {"sheet", "FILE", OPERAND_RIGS, "a checklist of a rig, to print and take to the job",
     "What was found, what to ask and to buy, the order of the work, what was assumed. Without -o\n"
     "it goes to standard output as text.\n"
     "Status: 0 it was written, whatever it tells; 1 the same, but the file has mistakes; 2 it "
     "could\n"
     "not be written.\n",
     BIT(OUTPUT) | BIT(TODAY) | OWN_FOLDERS, 1, 1, false, command_sheet},
    {"mend", "FILE", OPERAND_RIGS, "changes that make promises hold, each tried and judged anew",
     "Another catalogue part in one's place, one more in a run, more of a panel or battery. The "
     "rig\n"
     "file is left as it is.\n"
     "Status: 0 nothing to mend, 1 something, whether a way was found or not, 2 it could not be\n"
     "looked for.\n",
     BIT(FORMAT) | BIT(TODAY) | BIT(COLOR) | OWN_FOLDERS, 1, 1, false, command_mend},
    {"rule", "[NAME]", OPERAND_RULE, "what a rule promises, why, its sources and proofs",
     "Without a name, or with that of a family (`fuse`), a line for each rule.\n",
     BIT(COLOR) | OWN_FOLDERS, 0, 1, false, command_rule},
    {"part", "[KIND|ENTRY] [FORMULA]", OPERAND_PART, "look into the catalogue",
     "Without a name, the kinds; with a kind, its entries; with a formula too, those for which it\n"
     "holds:  rigtally part pump 'max_head >= 5 m'\n"
     "Status: 0, or 1 when nothing was found, or 2.\n",
     BIT(COLOR) | OWN_FOLDERS, 0, 2, false, command_part},
    {"prove", "[FILE]...", OPERAND_RULE_FILES, "run the proofs of rule files, or of all rules",
     "Status: 0 all proofs come out as written, 1 some do not or are lacking, 2 not readable.\n",
     BIT(COLOR) | OWN_FOLDERS, 0, SIZE_MAX, false, command_prove},
    {"schema", "", OPERAND_NONE, "the form of a rig file as a JSON Schema, for editors",
     "Draft-07, with every kind, attribute and catalogue entry that is known.\n", OWN_FOLDERS, 0, 0,
     false, command_schema},
    {"new", "[SCENARIO]", OPERAND_STARTER, "a commented rig file to begin with",
     "Without a name, what there is.\n", 0, 0, 1, false, command_new},
};
const size_t command_count = sizeof commands / sizeof *commands;

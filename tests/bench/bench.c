/* bench.c - how much processor time rigtally takes, against a bare libyaml event
 * loop over the same bytes. Prints figures and ratios; judges nothing.
 *   bench PROGRAM EXAMPLE FOLDER
 * PROGRAM is rigtally, EXAMPLE a rig file, FOLDER an empty place for made-up rigs. */
#include <fcntl.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <yaml.h>

#define RUNS 9

/* A plain rig: sun, converter, pump, a loop over a coil. The numbers differ from rig to rig, so
 * that no result of one can serve another. */
static const char *const rig_text =
    "rigtally: 1\n"
    "name: Bench rig %d\n"
    "practice: iec\n"
    "site: { air: -%d .. %d degC, water: 8 .. 45 degC%s }\n"
    "parts:\n"
    "  panel: { is: panel, power: %.2f W, vmp: %.3f V, imp: %.5f A, voc: %.3f V, isc: %.5f A, "
    "tilt: 35 deg }\n"
    "  buck:  { is: converter, type: step-down, input: 9 .. 35 V, output: 12 V, dropout: 1.5 V,\n"
    "           max_current: 5 A, efficiency: 92 %% }\n"
    "  pump:  { is: pump, voltage: 12 V, power: %.2f W, max_head: %.2f m, max_flow: %.1f L/h, "
    "mounting: submersible }\n"
    "  coil:  { is: coil, bore: 10 mm, length: 18 m, area: 1.4 m2, height: 1.4 m, material: copper "
    "}\n"
    "  drum:  { is: tank, volume: 90 L, height: 0 m, level: 0.55 m, depth: 0.7 m }\n"
    "  f1:    { is: fuse, rating: 5 A, max_voltage: 32 V, breaking_capacity: 1000 A, speed: slow, "
    "type: blade }\n"
    "cables:\n"
    "  - { from: panel, to: buck, area: 2.5 mm2, length: %.2f m, through: [f1], outdoors: yes }\n"
    "  - { from: buck,  to: pump, area: 1.5 mm2, length: 3 m }\n"
    "pipes:\n"
    "  - { from: drum, to: pump }\n"
    "  - { from: pump, to: coil, bore: 13 mm, material: epdm-hose, length: 3 m, high_point: 1.6 m, "
    "fittings: { elbow: 3 } }\n"
    "  - { from: coil, to: drum, bore: 13 mm, material: epdm-hose, length: 2.5 m, ends: "
    "under-water }\n"
    "needs:\n"
    "  - pump.flow >= 60 L/h at bright-noon\n";

static void die(const char *what)
{
    perror(what);
    exit(1);
}

static void rig_path(char path[4096], const char *folder, int n)
{
    int length = snprintf(path, 4096, "%s/r%05d.rig.yaml", folder, n);
    if (length < 0 || length >= 4096)
        die(folder);
}

/* With a latitude and a daily sum of sun the day can be reckoned as well. */
static void write_rig(const char *folder, int n, bool day)
{
    char path[4096];
    rig_path(path, folder, n);
    FILE *file = fopen(path, "wb");
    if (!file)
        die(path);
    double vmp = 17.2 + 0.001 * (n % 900), imp = 3.2 + 0.0003 * n;
    fprintf(file, rig_text, n, 5 + n % 15, 30 + n % 9,
            day ? ", latitude: 47 deg, sun: 5.2 kWh/m2" : "", vmp * imp, vmp, imp, vmp * 1.24,
            imp * 1.07, 7.0 + 0.001 * n, 3.5 + 0.0005 * n, 400.0 + 0.1 * n, 5.0 + 0.002 * n);
    if (fclose(file) != 0)
        die(path);
}

static double seconds(struct timeval t)
{
    return (double)t.tv_sec + 1e-6 * (double)t.tv_usec;
}

/* Processor time of one run of a command, its output thrown away. */
static double run_once(char *const argv[])
{
    pid_t child = fork();
    if (child < 0)
        die("fork");
    if (child == 0) {
        int null = open("/dev/null", O_WRONLY);
        dup2(null, 1);
        execv(argv[0], argv);
        _exit(127);
    }
    int status;
    struct rusage usage;
    if (wait4(child, &status, 0, &usage) < 0)
        die("wait");
    if (!WIFEXITED(status) || WEXITSTATUS(status) > 1) {
        fprintf(stderr, "%s did not do its job\n", argv[0]);
        exit(1);
    }
    return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_run(char *const argv[], int runs)
{
    double took[RUNS];
    run_once(argv);
    for (int i = 0; i < runs; i++)
        took[i] = run_once(argv);
    qsort(took, (size_t)runs, sizeof *took, ascending);
    return took[runs / 2];
}

static char *read_file(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    struct stat info;
    if (!file || fstat(fileno(file), &info) != 0)
        die(path);
    char *bytes = malloc((size_t)info.st_size + 1);
    if (!bytes)
        die(path);
    *length = fread(bytes, 1, (size_t)info.st_size, file);
    fclose(file);
    return bytes;
}

static void parse_events(const char *bytes, size_t length)
{
    yaml_parser_t parser;
    yaml_event_t event;
    bool done = false;
    if (!yaml_parser_initialize(&parser))
        die("libyaml");
    yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, length);
    while (!done && yaml_parser_parse(&parser, &event)) {
        done = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
}

static double cpu_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Processor time of a bare event loop over every rig of a folder, reading of the files included. */
static double events_over(const char *folder, int count)
{
    double begin = cpu_now();
    for (int n = 0; n < count; n++) {
        char path[4096];
        size_t length;
        rig_path(path, folder, n);
        char *bytes = read_file(path, &length);
        parse_events(bytes, length);
        free(bytes);
    }
    return cpu_now() - begin;
}

static void make_rigs(char path[4000], const char *folder, int count, bool day)
{
    snprintf(path, 4000, "%.3900s/%d%s", folder, count, day ? "-day" : "");
    if (mkdir(path, 0777) != 0)
        die(path);
    for (int n = 0; n < count; n++)
        write_rig(path, n, day);
}

/* Both are measured in turn, for a machine's speed may change from one minute to the next: the
 * ratio is the median over the turns, the times are the least. */
static void folder_bench(char *program, const char *folder, int count, double start, bool day)
{
    char path[4000];
    make_rigs(path, folder, count, day);
    char check[] = "check", format[] = "--format", lines[] = "lines", jobs[] = "-j", one[] = "1";
    char *const argv[] = {program, check, format, lines, jobs, one, path, NULL};
    double ratio[RUNS], least = INFINITY, least_bare = INFINITY;
    for (int i = 0; i < RUNS; i++) {
        double took = run_once(argv) - start, bare = events_over(path, count);
        ratio[i] = took / bare;
        least = took < least ? took : least;
        least_bare = bare < least_bare ? bare : least_bare;
    }
    qsort(ratio, RUNS, sizeof *ratio, ascending);
    printf("%5d rigs%s: %7.3f ms of processor each; a bare event loop %6.3f ms; ratio %5.1f%s\n",
           count, day ? " and their day" : "", 1e3 * least / count, 1e3 * least_bare / count,
           ratio[RUNS / 2], day ? "" : " (to reach: 10)");
}

/* A net of 5,000 pipes between two tanks, with a pump. */
static void grid_bench(char *program, const char *folder)
{
    enum { SIDE = 50 };
    char path[4000];
    snprintf(path, sizeof path, "%.3900s/grid.rig.yaml", folder);
    FILE *file = fopen(path, "wb");
    if (!file)
        die(path);
    fprintf(
        file,
        "rigtally: 1\nname: Grid\nparts:\n"
        "  src: { is: supply, voltage: 24 V, max_current: 40 A }\n"
        "  pump: { is: pump, voltage: 24 V, power: 400 W, max_head: 30 m, max_flow: 20000 L/h }\n"
        "  well: { is: tank, volume: 5000 L, level: 2 m, height: 0 m }\n"
        "  top: { is: tank, volume: 5000 L, level: 1 m, height: 8 m }\n");
    for (int i = 0; i < SIDE; i++)
        for (int j = 0; j < SIDE; j++)
            fprintf(file, "  n%d-%d: { is: fitting }\n", i, j);
    fprintf(file,
            "cables:\n  - { from: src, to: pump, area: 10 mm2, length: 5 m }\npipes:\n"
            "  - { from: well, to: pump }\n"
            "  - { from: pump, to: n0-0, bore: 50 mm, length: 10 m, material: hdpe }\n"
            "  - { from: n%d-%d, to: top, bore: 50 mm, length: 10 m, material: hdpe }\n",
            SIDE - 1, SIDE - 1);
    for (int i = 0; i < SIDE; i++)
        for (int j = 0; j < SIDE; j++)
            for (int down = 0; down < 2; down++)
                if (i + down < SIDE && j + 1 - down < SIDE)
                    fprintf(file,
                            "  - { from: n%d-%d, to: n%d-%d, bore: %d mm, length: %d m, material: "
                            "hdpe }\n",
                            i, j, i + down, j + 1 - down, 20 + (i * 7 + j * 3) % 20,
                            3 + (i + j) % 5);
    if (fclose(file) != 0)
        die(path);
    char check[] = "check", brief[] = "--brief";
    char *const argv[] = {program, check, brief, path, NULL};
    printf("a water network of 5,000 pipes, read, solved in seven conditions and judged: %.2f s "
           "(to reach: 1)\n",
           median_run(argv, 3));
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        fprintf(stderr, "bench PROGRAM EXAMPLE FOLDER\n");
        return 2;
    }
    char version[] = "--version", check[] = "check";
    char *const start[] = {argv[1], version, NULL};
    char *const example[] = {argv[1], check, argv[2], NULL};
    double nothing = median_run(start, RUNS);
    printf("start alone: %.2f ms\n", 1e3 * nothing);
    printf("check %s: %.2f ms of processor (to reach: 20)\n", argv[2],
           1e3 * median_run(example, RUNS));
    folder_bench(argv[1], argv[3], 100, nothing, false);
    folder_bench(argv[1], argv[3], 1000, nothing, false);
    folder_bench(argv[1], argv[3], 2000, nothing, false);
    folder_bench(argv[1], argv[3], 500, nothing, true);
    grid_bench(argv[1], argv[3]);
    return 0;
}

/* graph.c - Graphviz through its C library, in a child process that tells the places through a
 * pipe. */
#define _GNU_SOURCE /* dlinfo */
#include "report/graph.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <graphviz/gvc.h>
#include <graphviz/types.h>

#include "base/text.h"

#define SECONDS_MAX 5 /* of the child's work; a page's drawing takes some hundredths */
#define LETTER_PX 6.0 /* a letter of the words that hold room for a label: Courier of size 10, */
#define LINE_PX 12.0  /* and a line of them: 0.6 and 1.2 of the size */
#define BOX_INCH (1 / 72.0) /* the library's point is our px; boxes are told in inches */

/* ---- In the child ---- */

struct library {
    GVC_t *(*context)(const lt_symlist_t *builtins, int demand_loading);
    int (*layout)(GVC_t *context, graph_t *graph, const char *engine);
    Agraph_t *(*open)(char *name, Agdesc_t kind, Agdisc_t *discipline);
    Agnode_t *(*node)(Agraph_t *graph, char *name, int create);
    Agedge_t *(*edge)(Agraph_t *graph, Agnode_t *from, Agnode_t *to, char *name, int create);
    Agsym_t *(*attribute)(Agraph_t *graph, int kind, char *name, char *value);
    int (*set)(void *object, char *name, char *value);
    const Agdesc_t *directed;
    gvplugin_library_t *dot; /* the layered layout, which is a library of its own */
};

/* The layout stands in a folder of its own beside the library. */
static gvplugin_library_t *load_layout(void *gvc)
{
    char path[PATH_MAX + 64], folder[PATH_MAX];
    if (dlinfo(gvc, RTLD_DI_ORIGIN, folder) != 0)
        return NULL;
    snprintf(path, sizeof path, "%s/graphviz/libgvplugin_dot_layout.so.6", folder);
    void *dot = dlopen(path, RTLD_NOW);
    return dot ? dlsym(dot, "gvplugin_dot_layout_LTX_library") : NULL;
}

static bool load(struct library *out)
{
    void *gvc = dlopen("libgvc.so.6", RTLD_NOW | RTLD_GLOBAL);
    void *cgraph = gvc ? dlopen("libcgraph.so.6", RTLD_NOW | RTLD_GLOBAL) : NULL;
    if (!cgraph)
        return false;
    *(void **)&out->context = dlsym(gvc, "gvContextPlugins");
    *(void **)&out->layout = dlsym(gvc, "gvLayout");
    *(void **)&out->open = dlsym(cgraph, "agopen");
    *(void **)&out->node = dlsym(cgraph, "agnode");
    *(void **)&out->edge = dlsym(cgraph, "agedge");
    *(void **)&out->attribute = dlsym(cgraph, "agattr");
    *(void **)&out->set = dlsym(cgraph, "agset");
    out->directed = dlsym(cgraph, "Agdirected");
    out->dot = load_layout(gvc);
    return out->context && out->layout && out->open && out->node && out->edge && out->attribute &&
           out->set && out->directed && out->dot;
}

static void set_attributes(const struct library *library, Agraph_t *graph, bool downwards)
{
    static const struct {
        int kind;
        char *name, *value;
    } all[] = {
        {AGRAPH, "nodesep", "0.22"},   {AGRAPH, "ranksep", "0.3"},      {AGNODE, "shape", "box"},
        {AGNODE, "label", ""},         {AGNODE, "width", "1"},          {AGNODE, "height", "1"},
        {AGEDGE, "label", ""},         {AGEDGE, "dir", "none"},         {AGEDGE, "fontsize", "10"},
        {AGNODE, "fixedsize", "true"}, {AGEDGE, "fontname", "Courier"},
    };
    library->attribute(graph, AGRAPH, "rankdir", downwards ? "TB" : "LR");
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        library->attribute(graph, all[i].kind, all[i].name, all[i].value);
}

static Agnode_t *add_box(const struct library *library, Agraph_t *graph,
                         const struct graph_box *box, size_t index)
{
    char name[32], width[32], height[32];
    snprintf(name, sizeof name, "b%zu", index);
    snprintf(width, sizeof width, "%.4f", box->width * BOX_INCH);
    snprintf(height, sizeof height, "%.4f", box->height * BOX_INCH);
    Agnode_t *node = library->node(graph, name, 1);
    library->set(node, "width", width);
    library->set(node, "height", height);
    return node;
}

static Agedge_t *add_line(const struct library *library, Agraph_t *graph, Agnode_t *const *nodes,
                          const struct graph_line *line, size_t index)
{
    char name[32], label[1024] = "";
    snprintf(name, sizeof name, "l%zu", index);
    Agedge_t *edge = library->edge(graph, nodes[line->from], nodes[line->to], name, 1);
    size_t letters = (size_t)fmin(ceil(line->label_width / LETTER_PX), 200.0);
    size_t rows = (size_t)fmin(ceil(line->label_height / LINE_PX), 4.0), at = 0;
    for (size_t row = 0; letters > 0 && row < rows; row++) {
        memset(label + at, 'n', letters);
        at += letters;
        memcpy(label + at, "\\n", 3);
        at += 2;
    }
    if (at > 0)
        label[at - 2] = '\0';
    library->set(edge, "label", label);
    return edge;
}

static void tell(FILE *out, double number)
{
    fwrite(&number, sizeof number, 1, out);
}

static void tell_line(FILE *out, Agedge_t *edge)
{
    const textlabel_t *label = ED_label(edge);
    const splines *way = ED_spl(edge);
    int count = way && way->size > 0 ? way->list[0].size : 0;
    tell(out, label ? label->pos.x : 0.0);
    tell(out, label ? label->pos.y : 0.0);
    tell(out, count);
    for (int i = 0; i < count; i++) {
        tell(out, way->list[0].list[i].x);
        tell(out, way->list[0].list[i].y);
    }
}

static int place_in_child(const struct graph *graph, bool downwards, FILE *out, Agnode_t **nodes,
                          Agedge_t **edges)
{
    struct library library;
    if (!load(&library))
        return 1;
    lt_symlist_t builtins[] = {{"gvplugin_dot_layout_LTX_library", library.dot}, {0, 0}};
    GVC_t *context = library.context(builtins, 0);
    Agraph_t *page = library.open("rig", *library.directed, NULL);
    if (!context || !page)
        return 1;
    set_attributes(&library, page, downwards);
    for (size_t i = 0; i < graph->box_count; i++)
        nodes[i] = add_box(&library, page, &graph->boxes[i], i);
    for (size_t i = 0; i < graph->line_count; i++)
        edges[i] = add_line(&library, page, nodes, &graph->lines[i], i);
    if (library.layout(context, page, "dot") != 0)
        return 1;
    tell(out, GD_bb(page).UR.x);
    tell(out, GD_bb(page).UR.y);
    for (size_t i = 0; i < graph->box_count; i++) {
        tell(out, ND_coord(nodes[i]).x);
        tell(out, ND_coord(nodes[i]).y);
    }
    for (size_t i = 0; i < graph->line_count; i++)
        tell_line(out, edges[i]);
    return fflush(out) == 0 ? 0 : 1;
}

/* What is told goes to the pipe alone: what stood in the parent's buffers, and the library's own
 * remarks, go nowhere. Never returns. */
static void be_child(const struct graph *graph, bool downwards, int pipe_end, Agnode_t **nodes,
                     Agedge_t **edges)
{
    struct rlimit limit = {SECONDS_MAX, SECONDS_MAX};
    int nowhere = open("/dev/null", O_RDWR);
    if (nowhere < 0 || dup2(nowhere, STDOUT_FILENO) < 0 || dup2(nowhere, STDERR_FILENO) < 0)
        _exit(1);
    setrlimit(RLIMIT_CPU, &limit);
    alarm(4 * SECONDS_MAX);
    FILE *out = fdopen(pipe_end, "wb");
    _exit(out ? place_in_child(graph, downwards, out, nodes, edges) : 1);
}

/* ---- In the parent ---- */

static void listen_to(int from, struct text *out)
{
    char bytes[4096];
    ssize_t length;
    while ((length = read(from, bytes, sizeof bytes)) > 0 || (length < 0 && errno == EINTR))
        if (length > 0)
            text_add_bytes(out, bytes, (size_t)length);
}

struct told {
    const struct text *text;
    size_t at;
    bool short_of; /* it ended too early, or told no number */
};

static double next(struct told *told)
{
    double number = 0.0;
    if (told->text->length - told->at < sizeof number) {
        told->short_of = true;
        return 0.0;
    }
    memcpy(&number, told->text->bytes + told->at, sizeof number);
    told->at += sizeof number;
    told->short_of |= !isfinite(number);
    return number;
}

static struct graph_point next_point(struct told *told, double height)
{
    double x = next(told), y = next(told);
    return (struct graph_point){x, height - y};
}

static enum graph_end take_places(struct graph *graph, struct told *told, struct arena *arena)
{
    graph->width = next(told);
    graph->height = next(told);
    for (size_t i = 0; i < graph->box_count; i++)
        graph->boxes[i].place = next_point(told, graph->height);
    for (size_t i = 0; i < graph->line_count && !told->short_of; i++) {
        struct graph_line *line = &graph->lines[i];
        line->label = next_point(told, graph->height);
        double count = next(told);
        if (told->short_of || !(count >= 0.0 && count < 1e5))
            return GRAPH_NOT_PLACED;
        line->point_count = (size_t)count;
        line->points = ARENA_TAKE(arena, line->point_count + 1, struct graph_point);
        if (!line->points)
            return GRAPH_NO_MEMORY;
        for (size_t k = 0; k < line->point_count; k++)
            line->points[k] = next_point(told, graph->height);
    }
    return told->short_of ? GRAPH_NOT_PLACED : GRAPH_PLACED;
}

enum graph_end graph_place(struct graph *graph, bool downwards, struct arena *arena)
{
    int ends[2];
    /* taken here, so that the child need not ask for memory of ours */
    Agnode_t **nodes = ARENA_TAKE(arena, graph->box_count + 1, Agnode_t *);
    Agedge_t **edges = ARENA_TAKE(arena, graph->line_count + 1, Agedge_t *);
    if (!nodes || !edges)
        return GRAPH_NO_MEMORY;
    if (pipe(ends) != 0)
        return GRAPH_NOT_PLACED;
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        be_child(graph, downwards, ends[1], nodes, edges);
    }
    close(ends[1]);
    struct text heard = {0};
    if (child > 0)
        listen_to(ends[0], &heard);
    close(ends[0]);
    while (child > 0 && waitpid(child, NULL, 0) < 0 && errno == EINTR)
        ;
    struct told told = {.text = &heard};
    enum graph_end end = heard.failed ? GRAPH_NO_MEMORY : take_places(graph, &told, arena);
    text_drop(&heard);
    return end;
}

/* torque.c - sootbook torque --thread M14x1.25 --seat gasket --head aluminium [--maker 18] */
#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "cli/cli.h"
#include "reading/refit.h"

static void add_torque(cJSON *to, const char *nm_key, const char *lbf_ft_key, double nm)
{
    double lbf_ft = unit_convert(nm, unit_find("Nm"), unit_find("lbf.ft"));

    cJSON_AddNumberToObject(to, nm_key, nm);
    cJSON_AddNumberToObject(to, lbf_ft_key, (double)(long)(lbf_ft * 10 + 0.5) / 10);
}

int cli_torque(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--thread"}, {.name = "--seat"}, {.name = "--head"}, {.name = "--maker"}};
    const char *operand;
    int n;
    struct refit *r;
    struct err e = {0};
    cJSON *root, *list;
    char *json;
    double maker = 0;

    if (!cli_options(argc, argv, o, 4, &operand, 0, &n))
        return 2;
    if (o[0].value == NULL || o[1].value == NULL)
        return cli_wrong("torque", "--thread and --seat are needed");
    if (o[3].value != NULL && (!text_to_double(o[3].value, &maker) || !(maker > 0) || maker > 200))
        return cli_wrong("torque", "--maker “%s” must be N·m above 0, at most 200, as in 27.5 or 27,5", TEXT_SHORT(o[3].value, 20));
    r = malloc(sizeof *r);
    if (r == NULL || !refit_find(o[0].value, o[1].value, o[2].value ? o[2].value : "", r, &e)) {
        free(r);
        if (e.code == ERR_BADARG)
            return cli_wrong("torque", "%s", e.text);
        return cli_failed(&e);
    }
    root = cJSON_CreateObject();
    cJSON_AddStringToObject(root, "thread", o[0].value);
    cJSON_AddStringToObject(root, "seat", o[1].value);
    cJSON_AddStringToObject(root, "first", "The engine maker's own figure wins over every chart here.");
    if (maker > 0)
        add_torque(root, "maker_nm", "maker_lbf_ft", maker);
    list = cJSON_AddArrayToObject(root, "charts");
    for (int i = 0; i < r->n_charts; i++) {
        const struct refit_chart *c = &r->charts[i];
        cJSON *x = cJSON_CreateObject();

        cJSON_AddStringToObject(x, "chart", c->name);
        cJSON_AddStringToObject(x, "id", c->chart);
        cJSON_AddStringToObject(x, "head", c->head);
        cJSON_AddStringToObject(x, "threads", c->threads);
        add_torque(x, "nm_min", "lbf_ft_min", c->nm_min);
        add_torque(x, "nm_max", "lbf_ft_max", c->nm_max);
        cJSON_AddStringToObject(x, "printed", c->printed);
        cJSON_AddStringToObject(x, "note", c->note);
        cJSON_AddStringToObject(x, "source", c->source);
        cJSON_AddItemToArray(list, x);
    }
    list = cJSON_AddArrayToObject(root, "apart");
    for (int i = 0; i < r->n_apart; i++)
        cJSON_AddItemToArray(list, cJSON_CreateString(r->apart[i]));
    list = cJSON_AddArrayToObject(root, "turn_after_finger_tight");
    for (int i = 0; i < r->n_turns; i++) {
        const struct refit_turn *t = &r->turns[i];
        cJSON *x = cJSON_CreateObject();

        cJSON_AddStringToObject(x, "washer", t->washer);
        cJSON_AddStringToObject(x, "seat", t->seat);
        cJSON_AddNumberToObject(x, "deg_min", t->deg_min);
        cJSON_AddNumberToObject(x, "deg_max", t->deg_max);
        if (t->doubtful)
            cJSON_AddStringToObject(x, "doubt", "in conflict with every other source read: not to be used");
        cJSON_AddStringToObject(x, "source", t->source);
        cJSON_AddItemToArray(list, x);
    }
    list = cJSON_AddArrayToObject(root, "cautions");
    cJSON_AddItemToArray(list, cJSON_CreateString("Cold engine; start every plug by hand; a chart holds for the threads it names; thread compound turns the right figure into too much."));
    cJSON_AddItemToArray(list, cJSON_CreateString("A new washer takes several times the angle of a used one: know which it is."));
    json = cJSON_Print(root);
    puts(json);
    free(json);
    cJSON_Delete(root);
    free(r);
    return cli_printed();
}

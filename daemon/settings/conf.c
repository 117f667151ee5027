/* A parsed file: from the joined text to libconfig's tree, with each fault put back to the file
 * and line it was written at. The walk over the tree is in fill.c. */
#include "beadline/conf.h"

#include <libconfig.h>

#include "source.h"

struct bl_conf {
    struct source source;
    struct bl_faults *faults;
    char *file;
    config_t config;
};

void bl_conf_free(struct bl_conf *conf)
{
    if (!conf) {
        return;
    }
    config_destroy(&conf->config);
    source_clear(&conf->source);
    g_free(conf->file);
    g_free(conf);
}

static struct bl_conf *begin(const char *file, struct bl_faults *faults)
{
    struct bl_conf *conf = g_new0(struct bl_conf, 1);
    conf->file = g_strdup(file);
    conf->faults = faults;
    source_init(&conf->source, faults);
    config_init(&conf->config);
    /* Includes are joined already: the parser itself must never open a file. */
    config_set_include_dir(&conf->config, "/dev/null");
    return conf;
}

static const char *explain(const char *error)
{
    if (g_strcmp0(error, "syntax error") == 0) {
        return "this cannot be read: look for a missing quote, bracket or \"=\" here or just "
               "above";
    }
    if (g_strcmp0(error, "duplicate setting name") == 0) {
        return "this name is given twice in its group: keep one";
    }
    return error ? error : "this cannot be read";
}

static struct bl_conf *parse(struct bl_conf *conf)
{
    if (config_read_string(&conf->config, conf->source.text->str) == CONFIG_TRUE) {
        return conf;
    }
    guint line = (guint)MAX(config_error_line(&conf->config), 1);
    struct source_place place = source_place(&conf->source, line);
    bl_faults_add(conf->faults, place.file ? place.file : conf->file, place.line, "%s",
                  explain(config_error_text(&conf->config)));
    bl_conf_free(conf);
    return NULL;
}

struct bl_conf *bl_conf_read(const char *file, struct bl_faults *faults)
{
    struct bl_conf *conf = begin(file, faults);
    if (!source_read(&conf->source, file)) {
        bl_conf_free(conf);
        return NULL;
    }
    return parse(conf);
}

struct bl_conf *bl_conf_parse(const char *text, gsize length, const char *file,
                              struct bl_faults *faults)
{
    struct bl_conf *conf = begin(file, faults);
    if (!source_take(&conf->source, text, length, file)) {
        bl_conf_free(conf);
        return NULL;
    }
    return parse(conf);
}

const char *bl_conf_file(const struct bl_conf *conf)
{
    return conf->file;
}

struct config_setting_t *bl_conf_root(const struct bl_conf *conf)
{
    return config_root_setting(&conf->config);
}

struct config_setting_t *bl_conf_at(const struct bl_conf *conf, const char *path)
{
    return config_lookup(&conf->config, path);
}

void bl_conf_fault(const struct bl_conf *conf, const struct config_setting_t *setting,
                   const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);
    struct source_place place = {NULL, 0, 0};
    if (setting && !config_setting_is_root(setting)) {
        place = source_place(&conf->source, config_setting_source_line(setting));
    }
    bl_faults_add(conf->faults, place.file ? place.file : conf->file, place.line, "%s", text);
}

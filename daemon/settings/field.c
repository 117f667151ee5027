/* The types of values every table may use: how each is read from the parsed file into its
 * place. Types of one table only are beside that table. */
#include <libconfig.h>
#include <math.h>
#include <string.h>

#include "beadline/conf.h"
#include "beadline/text.h"

#define MOST_SHOWN   60
#define MOST_TEXTS   64
#define MOST_NUMBERS 12

static const char *kind_of(const config_setting_t *value)
{
    static const char *const kinds[] = {
        [CONFIG_TYPE_GROUP] = "a group in { }", [CONFIG_TYPE_INT] = "a whole number",
        [CONFIG_TYPE_INT64] = "a whole number", [CONFIG_TYPE_FLOAT] = "a number with decimals",
        [CONFIG_TYPE_STRING] = "a text",        [CONFIG_TYPE_BOOL] = "true or false",
        [CONFIG_TYPE_ARRAY] = "a list",         [CONFIG_TYPE_LIST] = "a list",
    };
    return kinds[config_setting_type(value)];
}

char *bl_field_shown(const char *text)
{
    if (g_utf8_strlen(text, -1) <= MOST_SHOWN) {
        return g_strdup(text);
    }
    g_autofree char *cut = g_utf8_substring(text, 0, MOST_SHOWN);
    return g_strconcat(cut, "...", NULL);
}

char *bl_field_nearest(const char *word, const char *const *names)
{
    const char *near = strlen(word) <= MOST_SHOWN ? bl_text_nearest(word, names) : NULL;
    return near ? g_strdup_printf("; did you mean \"%s\"?", near) : g_strdup("");
}

bool bl_field_refuse(const struct bl_field *field, const struct config_setting_t *value,
                     GError **error)
{
    const char *range = field->help.range;
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s wanted%s%s%s, not %s", field->help.type,
                *range ? " (" : "", range, *range ? ")" : "", kind_of(value));
    return false;
}

const char *bl_field_string(const struct config_setting_t *value)
{
    return config_setting_type(value) == CONFIG_TYPE_STRING ? config_setting_get_string(value)
                                                            : NULL;
}

static void keep_text(void *target, const char *text)
{
    char **place = target;
    g_free(*place);
    *place = g_strdup(text);
}

bool bl_field_text(const struct bl_field *field, const struct config_setting_t *value,
                   void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    glong most = field->hi > 0 ? (glong)field->hi : BL_TEXT_MAX_NAME;
    if (!bl_text_check(text, "text", most, error)) {
        return false;
    }
    keep_text(target, text);
    return true;
}

bool bl_field_note(const struct bl_field *field, const struct config_setting_t *value,
                   void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    if (!bl_text_check_note(text, "text", error)) {
        return false;
    }
    keep_text(target, text);
    return true;
}

static bool word_index(const struct bl_field *field, const config_setting_t *value,
                       guint *index, GError **error)
{
    const char *word = bl_field_string(value);
    if (!word) {
        return bl_field_refuse(field, value, error);
    }
    const char *const *words = field->words();
    for (*index = 0; words[*index]; ++*index) {
        if (strcmp(words[*index], word) == 0) {
            return true;
        }
    }
    g_autofree char *offer = bl_field_nearest(word, words);
    g_autofree char *shown = bl_field_shown(word);
    g_autofree char *all = g_strjoinv(", ", (char **)words);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" is not known%s%s one of: %s", shown,
                offer, *offer ? "" : ":", all);
    return false;
}

bool bl_field_word(const struct bl_field *field, const struct config_setting_t *value,
                   void *target, GError **error)
{
    guint index = 0;
    if (!word_index(field, value, &index, error)) {
        return false;
    }
    *(guint *)target = index;
    return true;
}

bool bl_field_choice(const struct bl_field *field, const struct config_setting_t *value,
                     void *target, GError **error)
{
    guint index = 0;
    if (!word_index(field, value, &index, error)) {
        return false;
    }
    keep_text(target, field->words()[index]);
    return true;
}

bool bl_field_flag(const struct bl_field *field, const struct config_setting_t *value,
                   void *target, GError **error)
{
    guint index = 0;
    if (!word_index(field, value, &index, error)) {
        return false;
    }
    *(bool *)target = index == 1;
    return true;
}

bool bl_field_yes(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    if (config_setting_type(value) != CONFIG_TYPE_BOOL) {
        return bl_field_refuse(field, value, error);
    }
    *(bool *)target = config_setting_get_bool(value) == CONFIG_TRUE;
    return true;
}

static bool is_whole(const config_setting_t *value)
{
    int type = config_setting_type(value);
    return type == CONFIG_TYPE_INT || type == CONFIG_TYPE_INT64;
}

static double number_of(const config_setting_t *value)
{
    return is_whole(value) ? (double)config_setting_get_int64(value)
                           : config_setting_get_float(value);
}

/* The number as a person would write it: for a fault's text. */
static char *number_text(double number)
{
    char text[G_ASCII_DTOSTR_BUF_SIZE];
    return g_strdup(g_ascii_formatd(text, sizeof text, "%.10g", number));
}

static bool within(const struct bl_field *field, double number, GError **error)
{
    if (isfinite(number) && number >= field->lo && number <= field->hi) {
        return true;
    }
    g_autofree char *shown = number_text(number);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s is outside %s", shown, field->help.range);
    return false;
}

bool bl_field_whole(const struct bl_field *field, const struct config_setting_t *value,
                    void *target, GError **error)
{
    if (!is_whole(value)) {
        return bl_field_refuse(field, value, error);
    }
    double number = number_of(value);
    if (!within(field, number, error)) {
        return false;
    }
    *(int *)target = (int)number;
    return true;
}

bool bl_field_number(const struct bl_field *field, const struct config_setting_t *value,
                     void *target, GError **error)
{
    if (!config_setting_is_number(value)) {
        return bl_field_refuse(field, value, error);
    }
    double number = number_of(value);
    if (!within(field, number, error)) {
        return false;
    }
    *(double *)target = number;
    return true;
}

static bool is_list(const config_setting_t *value)
{
    return config_setting_is_array(value) || config_setting_is_list(value);
}

bool bl_field_numbers(const struct bl_field *field, const struct config_setting_t *value,
                      void *target, GError **error)
{
    if (!is_list(value)) {
        return bl_field_refuse(field, value, error);
    }
    int length = config_setting_length(value);
    if ((guint)length != field->count) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%u numbers belong here, not %d",
                    field->count, length);
        return false;
    }
    double numbers[MOST_NUMBERS] = {0};
    g_assert(field->count <= MOST_NUMBERS);
    for (guint i = 0; i < field->count; i++) {
        const config_setting_t *element = config_setting_get_elem(value, i);
        if (!bl_field_number(field, element, &numbers[i], error)) {
            return false;
        }
    }
    memcpy(target, numbers, field->count * sizeof *numbers);
    return true;
}

bool bl_field_span(const struct bl_field *field, const struct config_setting_t *value,
                   void *target, GError **error)
{
    double span[2] = {0, 0};
    if (!bl_field_numbers(field, value, span, error)) {
        return false;
    }
    if (span[0] > span[1]) {
        g_autofree char *lo = number_text(span[0]);
        g_autofree char *hi = number_text(span[1]);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "%s is more than %s: write the lower number first, each of them %s", lo, hi,
                    field->help.range);
        return false;
    }
    memcpy(target, span, sizeof span);
    return true;
}

bool bl_field_texts(const struct bl_field *field, const struct config_setting_t *value,
                    void *target, GError **error)
{
    if (!is_list(value)) {
        return bl_field_refuse(field, value, error);
    }
    int length = config_setting_length(value);
    if (length > MOST_TEXTS) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "more than %d texts", MOST_TEXTS);
        return false;
    }
    g_autoptr(GStrvBuilder) builder = g_strv_builder_new();
    for (int i = 0; i < length; i++) {
        g_autofree char *text = NULL;
        const config_setting_t *element = config_setting_get_elem(value, (unsigned)i);
        if (!bl_field_text(field, element, &text, error)) {
            return false;
        }
        g_strv_builder_add(builder, text);
    }
    char ***place = target;
    g_strfreev(*place);
    *place = g_strv_builder_end(builder);
    return true;
}

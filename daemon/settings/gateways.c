/* The list of gateways and who carries what: read by the same table, one filling a gateway.
 * With no list at all, one folder takes everything, so that nothing leaves by accident. */
#include <libconfig.h>
#include <string.h>

#include "draft.h"

#define UNSURE_UNSET  G_MAXUINT
#define MOST_GATEWAYS 32
#define MOST_HEADERS  32

/* What is written when nothing is configured. */
static const char outbox[] = "gateways = ( { name = \"outbox\"; kind = \"folder\"; } );";

/* The bit of the kind, 0 when it is missing or unknown: the filling says so. */
static guint kind_bit(const config_setting_t *element)
{
    const char *word = NULL;
    guint count = 0;
    const struct bl_field *fields = option_fields(&count);
    config_setting_lookup_string(element, "kind", &word);
    for (guint i = 0; word && i < count; i++) {
        if (strcmp(fields[i].help.path, "gateways[].kind") == 0) {
            const char *const *words = fields[i].words();
            for (guint k = 0; words[k]; k++) {
                if (strcmp(words[k], word) == 0) {
                    return 1U << k;
                }
            }
        }
    }
    return 0;
}

static char *subject_of(const config_setting_t *element, int i)
{
    const char *name = NULL;
    config_setting_lookup_string(element, "name", &name);
    g_autofree char *shown = bl_field_shown(name ? name : "");
    return name ? g_strdup_printf("gateway \"%s\": ", shown)
                : g_strdup_printf("gateway %d: ", i + 1);
}

/* A list of at most `most` groups; anything else is a fault, and false. */
static bool is_groups(const struct bl_conf *conf, const config_setting_t *list,
                      const char *subject, int most)
{
    bool good = config_setting_is_list(list) && config_setting_length(list) <= most;
    for (int i = 0; good && i < config_setting_length(list); i++) {
        good = config_setting_is_group(config_setting_get_elem(list, (unsigned)i));
    }
    if (!good) {
        bl_conf_fault(conf, list,
                      "%s\"%s\" is a list of at most %d groups: ( { ... }, { ... } )", subject,
                      config_setting_name(list), most);
    }
    return good;
}

static void read_headers(const struct bl_conf *conf, const config_setting_t *element,
                         const char *subject, struct bl_gateway *gateway)
{
    gateway->headers = g_array_new(FALSE, TRUE, sizeof(struct bl_header_form));
    const config_setting_t *list = config_setting_get_member(element, "headers");
    if (!list || !is_groups(conf, list, subject, MOST_HEADERS)) {
        return;
    }
    for (int i = 0; i < config_setting_length(list); i++) {
        struct bl_header_form form = {NULL, NULL};
        struct bl_fill fill = {.subject = subject, .base = &form};
        fill.fields = option_fields(&fill.count);
        bl_conf_fill(conf, config_setting_get_elem(list, (unsigned)i), "gateways[].headers[].",
                     &fill);
        g_array_append_val(gateway->headers, form);
    }
}

static int usual_port(enum bl_tls tls)
{
    static const int ports[] = {
        [BL_TLS_IMPLICIT] = 465, [BL_TLS_STARTTLS] = 587, [BL_TLS_NONE] = 25};
    return ports[tls];
}

/* Defaults that hang on another value. */
static void complete(struct bl_gateway *gateway)
{
    if (gateway->kind == BL_GATEWAY_SMTP && gateway->port == 0) {
        gateway->port = usual_port(gateway->tls);
    }
    if ((guint)gateway->unsure == UNSURE_UNSET) {
        gateway->unsure = gateway->kind == BL_GATEWAY_HTTP ? BL_UNSURE_ASK : BL_UNSURE_RESEND;
    }
}

static void read_gateway(struct draft *draft, const struct bl_conf *conf,
                         const config_setting_t *element, int i)
{
    struct bl_gateway gateway = {.unsure = (enum bl_unsure)UNSURE_UNSET};
    g_autofree char *subject = subject_of(element, i);
    struct bl_fill fill = {.subject = subject, .kind = kind_bit(element), .base = &gateway};
    fill.fields = option_fields(&fill.count);
    bl_conf_fill(conf, element, "gateways[].", &fill);
    read_headers(conf, element, subject, &gateway);
    complete(&gateway);
    g_array_append_val(draft->settings.gateways, gateway);
    if (fill.kind != 0) {
        draft_check_gateway(draft, element,
                            &g_array_index(draft->settings.gateways, struct bl_gateway,
                                           draft->settings.gateways->len - 1));
    }
}

static int gateway_called(const struct draft *draft, const char *name, guint below)
{
    for (guint i = 0; i < below; i++) {
        const struct bl_gateway *gateway =
            &g_array_index(draft->settings.gateways, struct bl_gateway, i);
        if (g_strcmp0(gateway->name, name) == 0) {
            return (int)i;
        }
    }
    return -1;
}

static void check_names(const struct draft *draft, const config_setting_t *list)
{
    const GArray *gateways = draft->settings.gateways;
    for (guint i = 0; i < gateways->len; i++) {
        const char *name = g_array_index(gateways, struct bl_gateway, i).name;
        if (name && gateway_called(draft, name, i) >= 0) {
            bl_conf_fault(draft->conf, config_setting_get_elem(list, i),
                          "two gateways are called \"%s\": rename one", name);
        }
    }
}

static void read_list(struct draft *draft, const struct bl_conf *conf,
                      const config_setting_t *list)
{
    for (int i = 0; i < config_setting_length(list); i++) {
        read_gateway(draft, conf, config_setting_get_elem(list, (unsigned)i), i);
    }
}

static void use_outbox(struct draft *draft)
{
    BL_AUTO(bl_faults) *none = bl_faults_new();
    BL_AUTO(bl_conf) *conf = bl_conf_parse(outbox, strlen(outbox), "outbox", none);
    read_list(draft, conf, bl_conf_at(conf, "gateways"));
    g_assert(bl_faults_count(none) == 0);
}

static char *nearest_gateway(const struct draft *draft, const char *name)
{
    const GArray *gateways = draft->settings.gateways;
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    for (guint i = 0; i < gateways->len; i++) {
        char *known = g_array_index(gateways, struct bl_gateway, i).name;
        if (known) {
            g_ptr_array_add(names, known);
        }
    }
    g_ptr_array_add(names, NULL);
    return bl_field_nearest(name, (const char *const *)names->pdata);
}

static void find_carrier(struct draft *draft, enum bl_channel channel)
{
    const char *name = draft->carry[channel];
    if (!name) {
        return;
    }
    g_autofree char *path = g_strdup_printf("carry.%s", bl_channel_name(channel));
    const config_setting_t *place = bl_conf_at(draft->conf, path);
    int i = gateway_called(draft, name, draft->settings.gateways->len);
    if (i < 0) {
        g_autofree char *offer = nearest_gateway(draft, name);
        bl_conf_fault(draft->conf, place, "\"%s\": there is no gateway \"%s\"%s", path, name,
                      offer);
        return;
    }
    draft->settings.carries[channel] = i;
    draft_check_carrier(draft, place, channel,
                        &g_array_index(draft->settings.gateways, struct bl_gateway, i));
}

void draft_gateways(struct draft *draft)
{
    const config_setting_t *list = bl_conf_at(draft->conf, "gateways");
    bool carried = bl_conf_at(draft->conf, "carry") != NULL;
    if (!list) {
        use_outbox(draft);
    } else if (is_groups(draft->conf, list, "", MOST_GATEWAYS)) {
        read_list(draft, draft->conf, list);
        check_names(draft, list);
    } else {
        return;
    }
    if (!list && !carried) {
        draft->settings.carries[BL_SMS] = 0;
        draft->settings.carries[BL_MAIL] = 0;
        return;
    }
    if (!draft->carry[BL_SMS] && !draft->carry[BL_MAIL]) {
        bl_conf_fault(draft->conf, list,
                      "no gateway is to carry anything: write carry = { sms = \"NAME\"; mail = "
                      "\"NAME\"; };");
    }
    find_carrier(draft, BL_SMS);
    find_carrier(draft, BL_MAIL);
}

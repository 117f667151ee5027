/* The plain structs the settings fill: what they hold is freed here, for everyone who keeps a
 * shop or a gateway of their own (tests, a rehearsal). */
#include "beadline/gateway.h"
#include "beadline/shop.h"

static void clear_home(struct bl_phone_home *home)
{
    g_clear_pointer(&home->calling_code, g_free);
    g_clear_pointer(&home->trunk, g_free);
    g_clear_pointer(&home->exit_code, g_free);
}

void bl_shop_clear(struct bl_shop *shop)
{
    g_clear_pointer(&shop->name, g_free);
    g_clear_pointer(&shop->owner, g_free);
    g_clear_pointer(&shop->phone, g_free);
    g_clear_pointer(&shop->mail, g_free);
    g_clear_pointer(&shop->address, g_free);
    g_clear_pointer(&shop->language, g_free);
    g_clear_pointer(&shop->zone, bl_zone_free);
    g_clear_pointer(&shop->closed, g_array_unref);
    clear_home(&shop->home);
}

static void clear_headers(struct bl_gateway *gateway)
{
    if (!gateway->headers) {
        return;
    }
    for (guint i = 0; i < gateway->headers->len; i++) {
        struct bl_header_form *form =
            &g_array_index(gateway->headers, struct bl_header_form, i);
        g_free(form->name);
        g_free(form->value);
    }
    g_clear_pointer(&gateway->headers, g_array_unref);
}

void bl_gateway_clear(struct bl_gateway *gateway)
{
    g_clear_pointer(&gateway->name, g_free);
    g_clear_pointer(&gateway->folder, g_free);
    g_clear_pointer(&gateway->host, g_free);
    g_clear_pointer(&gateway->ca_file, g_free);
    g_clear_pointer(&gateway->user, g_free);
    g_clear_pointer(&gateway->secret_file, g_free);
    g_clear_pointer(&gateway->from, g_free);
    g_clear_pointer(&gateway->url, g_free);
    g_clear_pointer(&gateway->method, g_free);
    clear_headers(gateway);
    g_clear_pointer(&gateway->body, g_free);
    g_clear_pointer(&gateway->body_kind, g_free);
    g_clear_pointer(&gateway->accepted, g_array_unref);
    g_clear_pointer(&gateway->accepted_path, g_free);
    g_clear_pointer(&gateway->accepted_value, g_free);
    g_clear_pointer(&gateway->reference_path, g_free);
    g_clear_pointer(&gateway->opted_out_path, g_free);
    g_clear_pointer(&gateway->opted_out_value, g_free);
}

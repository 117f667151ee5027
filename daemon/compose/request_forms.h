/*
 * What the making of a request and the check of its forms both know.
 */
#ifndef COMPOSE_REQUEST_FORMS_H
#define COMPOSE_REQUEST_FORMS_H

#include "beadline/gateway.h"
#include "beadline/mustache.h"

#define BL_KEY_HEADER  "Idempotency-Key"
#define BL_TYPE_HEADER "Content-Type"

struct body_kind {
    const char *name;
    enum bl_escape escape;
    const char *content_type;
};

/* NULL when there is none of that name (which may be NULL). */
const struct body_kind *bl_body_kind_named(const char *name);

/* The gateway's header form of that name in any case, or NULL. */
const struct bl_header_form *bl_header_form_named(const struct bl_gateway *gateway,
                                                  const char *name);

#endif

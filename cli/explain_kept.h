/*
 * Explaining from what was kept: the stored due with its window and its numbers as they were
 * when its message went, and the rule version they were reckoned by.
 */
#ifndef BEADLINE_CLI_EXPLAIN_KEPT_H
#define BEADLINE_CLI_EXPLAIN_KEPT_H

#include "beadline/letterbook.h"
#include "explain.h"
#include "messages.h"

/* Rules read from their stored versions, put under the treatments of the explained facts, which
 * must be cleared first. */
struct kept_rules {
    GHashTable *by_version; /* version -> struct bl_rule * */
};

void kept_rules_init(struct kept_rules *rules);
void kept_rules_clear(struct kept_rules *rules);

/* Each due's treatment follows the rule version kept with the due. */
void kept_rules_put(struct kept_rules *rules, struct context *context,
                    struct explained *explained, const GArray *kept);

/* "early ..., likely ..., late ...": what was kept of a top-up; NULL of others. Caller frees.
 */
char *kept_plain(const struct explained *explained, const struct bl_due_row *row);

void kept_print(const struct explained *explained, const struct bl_due_row *row,
                const struct kept_rules *rules);
char *kept_object(const struct explained *explained, const struct bl_due_row *row,
                  const struct kept_rules *rules);

#endif

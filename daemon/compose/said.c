/* What a message says, held together: making and freeing it. */
#include "said.h"

static void piece_free(gpointer data)
{
    struct bl_piece *piece = data;
    g_free(piece->title);
    g_free(piece->surface);
    g_free(piece->part);
    g_free(piece->when);
    g_free(piece->how);
    g_free(piece);
}

static void subject_free(gpointer data)
{
    struct bl_subject *subject = data;
    g_free(subject->finished);
    g_free(subject->parked);
    g_free(subject->dry);
    g_free(subject->rinse);
    g_free(subject->wipers);
    g_free(subject->wash);
    g_ptr_array_unref(subject->went_on);
    g_ptr_array_unref(subject->by_us);
    g_ptr_array_unref(subject->by_you);
    g_ptr_array_unref(subject->wants);
    g_free(subject);
}

struct bl_said *bl_said_new(const struct bl_shop *shop, const char *customer)
{
    struct bl_said *said = g_new0(struct bl_said, 1);
    said->shop = shop;
    said->customer = customer;
    said->cars = g_ptr_array_new_with_free_func(subject_free);
    said->wash = g_ptr_array_new();
    said->cautions = g_ptr_array_new();
    said->cares = g_array_new(FALSE, TRUE, sizeof(struct bl_care_said));
    return said;
}

struct bl_subject *bl_said_add_car(struct bl_said *said)
{
    struct bl_subject *subject = g_new0(struct bl_subject, 1);
    subject->times = (struct bl_cure_times){BL_NEVER, BL_NEVER, BL_NEVER, BL_NEVER};
    subject->went_on = g_ptr_array_new_with_free_func(piece_free);
    subject->by_us = g_ptr_array_new_with_free_func(piece_free);
    subject->by_you = g_ptr_array_new_with_free_func(piece_free);
    subject->wants = g_ptr_array_new_with_free_func(piece_free);
    g_ptr_array_add(said->cars, subject);
    return subject;
}

struct bl_piece *bl_piece_add(GPtrArray *pieces)
{
    struct bl_piece *piece = g_new0(struct bl_piece, 1);
    piece->coats = 1;
    g_ptr_array_add(pieces, piece);
    return piece;
}

void bl_said_free(struct bl_said *said)
{
    if (!said) {
        return;
    }
    g_ptr_array_unref(said->cars);
    g_ptr_array_unref(said->wash);
    g_ptr_array_unref(said->cautions);
    g_array_unref(said->cares);
    g_free(said);
}

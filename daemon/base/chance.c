/* Chance: message keys and nothing guessable from the kernel, repeatable runs from a seed. */
#include <glib.h>
#include <sys/random.h>

#include "beadline/clock.h"

static uint64_t machine_next(void *context)
{
    (void)context;
    uint64_t bits = 0;
    /* The kernel never cuts or interrupts a request this short once its pool is filled. */
    ssize_t got = getrandom(&bits, sizeof bits, 0);
    g_assert(got == (ssize_t)sizeof bits);
    return bits;
}

struct bl_chance bl_chance_machine(void)
{
    return (struct bl_chance){machine_next, NULL};
}

/* SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014. */
static uint64_t seeded_next(void *context)
{
    uint64_t *state = context;
    *state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = *state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

struct bl_chance bl_chance_seeded(uint64_t *state)
{
    return (struct bl_chance){seeded_next, state};
}

void bl_chance_key(struct bl_chance chance, char key[33])
{
    static const char hex[] = "0123456789abcdef";
    for (int half = 0; half < 2; half++) {
        uint64_t bits = chance.next(chance.context);
        for (int i = 0; i < 16; i++) {
            key[half * 16 + i] = hex[(bits >> (60 - 4 * i)) & 0xf];
        }
    }
    key[32] = '\0';
}

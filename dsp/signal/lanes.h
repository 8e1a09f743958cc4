/**
 * @file lanes.h
 * Eight numbers side by side, for loops whose iterations do not depend on one another. Each lane is
 * computed as it would be alone, so results are the same on every machine: no sum is
 * put in another order. A machine without such registers takes several of its own.
 *
 * All that dsp/ asks of a compiler beyond C17 stands here (tests/layering.sh holds it): the
 * attributes vector_size, aligned, may_alias and target_clones; __builtin_shufflevector (gcc before
 * 12: __builtin_shuffle), __builtin_convertvector and, on x86, <xmmintrin.h>. What computes with
 * fm_lanes and fm_four uses arithmetic, comparison and [] of vectors, as gcc and clang have them.
 */
#ifndef FM_LANES_H
#define FM_LANES_H

#include <stdint.h>
#include <string.h>
#if defined(__SSE__)
#include <xmmintrin.h>
#endif

enum {
    FM_LANES = 8
};

/* Aligned as a single number is, and read from arrays of those. */
typedef float fm_lanes
    __attribute__((vector_size(4 * FM_LANES), aligned(4), may_alias));
typedef int32_t fm_lane_ints
    __attribute__((vector_size(4 * FM_LANES), aligned(4), may_alias));

/**
 * Before a function: made twice, for machines with 32-byte registers and for those
 * without, and chosen when the program starts. Without fused multiply-add, which would
 * change last digits; and not beside a sanitizer, which is not ready yet when the choice
 * is made.
 */
#if defined(__x86_64__) && defined(__GLIBC__) && defined(__GNUC__) &&                  \
    !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) &&                           \
    !defined(__SANITIZE_THREAD__)
#define FM_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define FM_WIDE
#endif

/** Four side by side, which every such machine has a register for. */
typedef float fm_four __attribute__((vector_size(16), aligned(4), may_alias));
typedef int32_t fm_four_ints __attribute__((vector_size(16), aligned(4), may_alias));

/** The lesser of each pair of four: a < b ? a : b. */
#if defined(__SSE__)
#define FM_LEAST(a, b) ((fm_four)_mm_min_ps((__m128)(a), (__m128)(b)))
#else
#define FM_LEAST(a, b)                                                                 \
    ((fm_four)((((a) < (b)) & (fm_four_ints)(a)) | (~((a) < (b)) & (fm_four_ints)(b))))
#endif

/** Four of the eight numbers of a and b, by place. */
#if defined(__clang__) || __GNUC__ >= 12
#define FM_TAKE_FOUR(a, b, i, j, k, l) __builtin_shufflevector((a), (b), i, j, k, l)
#else
#define FM_TAKE_FOUR(a, b, i, j, k, l)                                                 \
    __builtin_shuffle((a), (b), (fm_four_ints){i, j, k, l})
#endif

/** Is any of eight lanes set (all bits)? By address: vectors by value would depend on how a
 * machine passes them. */
static inline int fm_any(const fm_lane_ints *mask)
{
#if defined(__SSE__)
    const fm_four_ints *half = (const fm_four_ints *)mask;
    return _mm_movemask_ps((__m128)(half[0] | half[1]));
#else
    int32_t some = 0;
    for (int lane = 0; lane < FM_LANES; lane++) {
        some |= (*mask)[lane];
    }
    return some;
#endif
}

/** Is any of value[0..7] the one wanted? */
static inline int fm_any_of_eight(const uint16_t *value, uint16_t wanted)
{
    typedef uint16_t eight __attribute__((vector_size(16)));
    typedef uint64_t two __attribute__((vector_size(16)));
    eight held;
    memcpy(&held, value, sizeof(held));
    const two same = (two)(held == (eight){0} + wanted);
    return (same[0] | same[1]) != 0;
}

/** Whole numbers of eight lanes, cut off towards 0. */
#define FM_TO_INTS(x) __builtin_convertvector((x), fm_lane_ints)

/** yes where the mask is set (all bits), no elsewhere. */
#define FM_CHOOSE_INTS(mask, yes, no) (((mask) & (yes)) | (~(mask) & (no)))
#define FM_CHOOSE(mask, yes, no)                                                       \
    ((fm_lanes)FM_CHOOSE_INTS((mask), (fm_lane_ints)(yes), (fm_lane_ints)(no)))

#endif

/**
 * @file breath_confidence_weights.h
 * Made by tests/accuracy/train/train_breath_confidence.py from 6374 answers; do not
 * edit. Digest of its input (breath_rows.py):
 * 1f3509bdef7e103306800f5bd7621dd30bc8116b560010e4f44895803ff4a798. What they are, and
 * how to make it again: tests/accuracy/train/README.md; what they were heard in, and
 * its licences: dsp/breath/breath_weights.h and LICENSE.
 */
#ifndef FM_BREATH_CONFIDENCE_WEIGHTS_H
#define FM_BREATH_CONFIDENCE_WEIGHTS_H

#include "dsp/breath/breath_confidence.h"

/* clang-format off */
_Static_assert(FM_GROUND_GATHERED == 0, "learned from other numbers");
_Static_assert(FM_GROUND_NONE == 1, "learned from other numbers");
_Static_assert(FM_GROUND_ALTERNATIVE == 2, "learned from other numbers");
_Static_assert(FM_GROUND_OCTAVE == 3, "learned from other numbers");
_Static_assert(FM_GROUND_OFF == 4, "learned from other numbers");
_Static_assert(FM_GROUND_ASTRAY == 5, "learned from other numbers");
_Static_assert(FM_GROUND_CV == 6, "learned from other numbers");
_Static_assert(FM_GROUND_TRANSITIONS == 7, "learned from other numbers");
_Static_assert(FM_GROUND_EXPLAINED == 8, "learned from other numbers");
_Static_assert(FM_GROUND_BREATHS == 9, "learned from other numbers");
_Static_assert(FM_GROUND_WINDOW == 10, "learned from other numbers");
_Static_assert(FM_GROUND_LOBES == 11, "learned from other numbers");
_Static_assert(FM_GROUND_SOUND == 12, "learned from other numbers");
_Static_assert(FM_GROUND_LOUDNESS == 13, "learned from other numbers");
_Static_assert(FM_GROUND_INTERVALS == 14, "learned from other numbers");
_Static_assert(FM_GROUND_BY_SOUND == 15, "learned from other numbers");
_Static_assert(FM_GROUND_SIZE == 16, "learned from other numbers");
enum {
    FM_BREATH_TRUST_MEMBERS = 4,
    FM_BREATH_TRUST_HIDDEN = 8
};
static const float TRUST_MEAN[FM_GROUND_SIZE] =
{3.243f, -5.299f, -2.817f, -5.345f, 0.03514f, 0.02749f, 0.06439f, 0.1194f, 1.281f,
2.218f, -0.8466f, 0.6887f, 0.7386f, 0.2093f, 0.1854f, 0.8569f};
static const float TRUST_SCALE[FM_GROUND_SIZE] =
{0.329f, 0.3942f, 0.4039f, 0.593f, 11.49f, 24.71f, 11.41f, 11.95f, 1.094f, 1.318f,
1.47f, 2.155f, 2.737f, 4.19f, 4.909f, 2.848f};
static const float TRUST_WEIGHTS[FM_BREATH_TRUST_MEMBERS][FM_GROUND_SIZE][FM_BREATH_TRUST_HIDDEN] =
{{{-0.996f, 0.2099f, -0.3229f, -0.2637f, -0.2667f, -0.415f, 0.7178f, 0.03828f},
{-0.09982f, -0.4151f, -0.2751f, 0.1036f, 0.1371f, 0.4884f, -0.08646f, -0.23f},
{0.4941f, -0.05673f, 0.09977f, 0.2659f, -0.1839f, 0.1015f, -0.3663f, 1.14f},
{-0.05179f, -0.01608f, -0.1779f, -0.5139f, -0.7112f, 0.1153f, -0.4079f, -0.6438f},
{1.301f, -0.1918f, -0.1881f, 0.187f, 0.3667f, 0.5909f, 0.3332f, -0.1923f},
{-0.1619f, -0.2687f, -0.05165f, 0.3683f, 1.721f, -0.2494f, 0.4099f, 0.4613f},
{0.2051f, 0.386f, 0.07661f, -0.3399f, 0.04461f, 0.5515f, 0.4614f, 0.2746f},
{-0.4358f, 0.1809f, 0.5652f, -0.1289f, 0.3851f, -0.3541f, -0.3108f, 0.2759f},
{0.3488f, 0.4548f, -0.3891f, -0.3052f, 0.06287f, -0.005651f, 0.3728f, -0.8054f},
{-0.04952f, -0.5881f, 0.1383f, 0.09309f, -0.3807f, 0.2729f, -0.3438f, -0.5749f},
{0.4027f, 0.7235f, -0.5556f, 0.3284f, -0.2674f, -0.4278f, 1.382f, -0.6928f},
{0.1646f, -0.6684f, -0.8556f, 0.7316f, 0.4173f, 1.491f, 0.5119f, 0.5341f},
{0.02262f, 0.08159f, 0.2379f, -0.004064f, -0.09585f, 0.1107f, -0.1276f, 0.1394f},
{-0.715f, 0.5594f, -0.5592f, -0.3861f, -0.5792f, 0.06313f, 0.3844f, -0.8043f},
{-0.2604f, -0.009045f, 0.1238f, 0.9696f, -0.8502f, 0.462f, 0.4893f, -0.8055f},
{0.1105f, 0.02624f, 0.2714f, 1.406f, -0.4767f, 0.301f, 0.2312f, 0.3712f}},
{{-0.09662f, 0.7862f, -0.8247f, -0.09461f, -0.005417f, 0.6643f, 0.1442f, 0.3349f},
{0.3334f, -0.3942f, -0.1921f, -0.4554f, 0.1443f, 0.4192f, -0.3613f, -0.2889f},
{-0.4117f, -0.3438f, -0.1841f, 0.1701f, -0.8664f, -0.1547f, -0.006382f, -0.09513f},
{-0.1526f, -0.4172f, 0.3345f, 0.9234f, 0.5256f, 0.3917f, -0.08471f, 0.402f},
{-0.4071f, 0.6883f, -0.3439f, -0.09112f, -0.1372f, -1.373f, -0.8105f, -1.002f},
{0.3892f, 0.1378f, -0.1298f, -0.1519f, -0.1844f, -0.433f, -0.1688f, -1.031f},
{0.135f, 0.109f, 0.1198f, 0.2505f, 0.3918f, -0.1798f, 0.2555f, 0.3311f},
{-0.5613f, -0.05281f, -0.3153f, -0.09112f, -0.2646f, -0.4821f, 0.2107f, -0.2591f},
{0.281f, 0.1889f, 0.1146f, -0.05296f, 0.5019f, -0.03001f, 0.569f, -0.02968f},
{0.2111f, -0.3714f, 0.08088f, -0.5189f, 0.2111f, -0.5014f, -0.5998f, 0.3967f},
{0.4956f, 1.086f, 0.4209f, 0.9449f, 0.2526f, 0.6118f, 0.6719f, 0.1177f},
{0.986f, 0.2382f, 0.2966f, 0.3035f, -0.8062f, -0.923f, -1.021f, -0.5037f},
{-0.09387f, -0.3696f, 0.2289f, 0.6972f, -0.05501f, -0.6086f, -0.04191f, 0.4069f},
{0.3197f, 0.06627f, -0.1976f, 0.6868f, 0.6551f, -0.03001f, 0.5558f, 0.817f},
{0.3543f, 0.198f, 0.00595f, 0.5176f, 0.5401f, -0.4164f, -0.1438f, 1.239f},
{-0.1403f, 0.05151f, -0.07703f, 0.2073f, -0.4551f, 0.6037f, 0.2386f, -0.0008968f}},
{{-0.4767f, 0.09955f, 0.08913f, 0.466f, 0.3639f, -0.5058f, 0.679f, 0.02989f},
{-0.4119f, -0.03077f, -0.1728f, -0.3615f, 0.02865f, 0.7697f, 0.0003054f, -0.1579f},
{-0.617f, 0.1026f, -0.04222f, -0.3299f, -0.4319f, 0.05981f, -0.619f, 1.056f},
{0.5449f, 0.6751f, 0.2071f, -0.4704f, -0.2264f, 0.2699f, 0.9111f, -0.6268f},
{-0.242f, -0.2651f, -0.896f, -0.003203f, 0.1093f, -0.08515f, -0.07883f, 0.08188f},
{-0.1651f, -0.03339f, -0.4766f, -0.1298f, 0.3976f, 0.1911f, 0.169f, 0.434f},
{-0.1207f, -0.2377f, 0.1018f, -0.528f, 0.02982f, -0.2789f, 0.8739f, 0.298f},
{-0.3887f, -0.5402f, -0.2868f, 0.4397f, -0.4083f, -0.2079f, -0.02959f, 0.04809f},
{0.4297f, 0.3545f, 0.1048f, 0.4903f, 0.2176f, -0.003977f, 0.4247f, -0.8447f},
{-0.4196f, -0.107f, -0.1166f, -0.475f, -0.712f, 0.1927f, 0.1663f, -0.7836f},
{0.5486f, 0.6029f, 0.3014f, 0.522f, 1.239f, -0.8512f, -0.8002f, -0.7375f},
{-0.3537f, 0.0536f, -0.1229f, -0.9711f, 1.026f, -0.1071f, -0.8978f, 0.7898f},
{-0.3122f, -0.06796f, 0.2032f, -0.4768f, 0.1153f, 0.6116f, 0.1464f, -0.06599f},
{-0.64f, -0.007679f, 0.6897f, 0.217f, 0.009404f, -0.3223f, -0.9471f, -0.9368f},
{-0.5915f, -0.1854f, 0.3277f, -0.1346f, 1.091f, -0.2326f, -0.9591f, -1.118f},
{-0.00969f, 0.003336f, 0.3056f, -0.1425f, 0.9584f, 0.5025f, -0.1339f, 0.848f}},
{{-0.4775f, 0.108f, 0.3418f, 0.3333f, 0.6037f, 0.2114f, -0.6576f, 0.06166f},
{-0.1011f, 0.5447f, 0.334f, 0.1425f, -0.8287f, -0.3204f, -0.5966f, -1.159f},
{0.137f, -0.4492f, 0.4783f, -1.397f, -0.08345f, -0.08045f, 0.3549f, -0.0009314f},
{-0.1867f, -0.1608f, -0.6135f, 0.6091f, -0.02085f, 0.6945f, -0.16f, -0.4763f},
{0.2286f, 0.2453f, 0.2915f, 0.1267f, -0.1351f, -0.1324f, 1.293f, -0.2507f},
{0.4648f, -0.4716f, 0.1722f, -0.04477f, 0.01336f, -0.03644f, 0.2332f, 1.189f},
{-0.3425f, -0.4f, 0.06945f, 0.569f, 0.2027f, 0.05943f, -0.07944f, -0.1267f},
{0.07514f, -0.6029f, 0.207f, -0.4049f, 0.3557f, -0.3803f, -0.1692f, -0.2069f},
{-0.3995f, 0.05242f, -0.1665f, 0.3805f, 0.6181f, 0.4716f, 0.4197f, -0.5361f},
{0.4234f, -0.2698f, 0.3033f, 0.5954f, -0.5643f, -0.5672f, -0.5253f, -0.3111f},
{-0.6283f, 1.152f, -0.6272f, 0.05686f, 0.6857f, 0.7136f, 0.4602f, 0.389f},
{0.7533f, 0.7809f, -0.1001f, -1.115f, -0.8677f, -0.002105f, -0.1475f, 0.622f},
{-0.2203f, -0.8417f, 0.6315f, -0.2301f, -0.2927f, -0.121f, -0.1048f, -0.3312f},
{-0.3957f, -0.521f, -0.02493f, 0.7187f, 0.565f, 0.3073f, -0.8944f, -0.02227f},
{0.107f, -0.5332f, 0.08785f, 0.6124f, -0.05471f, -0.2562f, -1.028f, 0.7642f},
{-0.1481f, -0.3565f, -0.2254f, -0.7795f, -0.1947f, 0.7323f, -0.1689f, -0.09878f}}};
static const float TRUST_BIAS[FM_BREATH_TRUST_MEMBERS][FM_BREATH_TRUST_HIDDEN] =
{{-0.6432f, 0.741f, -0.6458f, 0.7204f, -0.7349f, -0.6986f, 0.1927f, 0.3818f},
{0.7589f, -0.1588f, -0.9443f, 0.5205f, -0.2356f, 1.065f, 1.009f, 0.5813f},
{-1.417f, 0.8169f, 0.4909f, 0.5808f, 0.3642f, 0.1718f, 0.9545f, 0.2071f},
{-0.8244f, 0.742f, 0.7669f, -0.2699f, 0.6678f, 0.5877f, -0.373f, 0.4463f}};
static const float TRUST_OUT[FM_BREATH_TRUST_MEMBERS][FM_BREATH_TRUST_HIDDEN] =
{{-0.9716f, 1.195f, -1.284f, 1.079f, -0.8309f, -0.8127f, 1.125f, 1.329f},
{1.018f, 1.346f, -1.295f, 0.7003f, -1.565f, 0.8823f, 0.9528f, 0.9606f},
{-1.134f, 0.9036f, 1.207f, 0.9805f, 1.342f, -1.12f, 0.7746f, 1.027f},
{-1.15f, 1.285f, 1.051f, -1.142f, 1.104f, 1.027f, -1.252f, 1.009f}};
static const float TRUST_OUT_BIAS[FM_BREATH_TRUST_MEMBERS] =
{0.4475f, 0.3899f, 0.483f, 0.326f};
/* clang-format on */

#endif

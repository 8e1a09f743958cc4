#include "src/capture/device_callback.h"

#include "src/capture/source.h"

static void monitor(const device_callback_state *s,
                    const float *in,
                    float *out,
                    unsigned long frames)
{
    const int channel = atomic_load_explicit(&s->monitor_channel, memory_order_relaxed);
    const float gain = atomic_load_explicit(&s->monitor_gain, memory_order_relaxed);
    const int picked = channel >= 0 && channel < s->inputs ? channel : 0;
    for (unsigned long i = 0; i < frames; i++) {
        const float x =
            in != NULL ? gain * in[i * (unsigned long)s->inputs + (unsigned long)picked]
                       : 0.0F;
        const float held = x > 1.0F ? 1.0F : x < -1.0F ? -1.0F : x;
        for (int c = 0; c < s->outputs; c++) {
            *out = held;
            out++;
        }
    }
}

int device_callback(const void *input,
                    void *output,
                    unsigned long frames,
                    const PaStreamCallbackTimeInfo *time,
                    PaStreamCallbackFlags flags,
                    void *user_data)
{
    (void)time;
    device_callback_state *const s = user_data;
    const float *const in = input;
    /* Input that the driver made up is no input. */
    const bool real = in != NULL && (flags & paInputUnderflow) == 0;
    (void)ring_write(s->r, real ? in : NULL, frames,
                     (flags & paInputOverflow) != 0 ? SOURCE_OVERFLOW : 0U);
    if (output != NULL && s->outputs > 0) {
        monitor(s, in, output, frames);
    }
    return paContinue;
}

void device_callback_finished(void *user_data)
{
    device_callback_state *const s = user_data;
    atomic_store_explicit(&s->finished, true, memory_order_release);
}

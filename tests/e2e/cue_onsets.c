/*
 * When cues sound in a recording of the speaker, against the plan.
 * usage: cue_onsets RECORDING JUNCTION PROMPTING
 *
 * Each cue is found in the recording by normalised correlation with its clip, near where the plan
 * wants it counted from the announcement. Prints the errors in milliseconds. Exit 0 when 95 % of
 * the cues are within 20 ms, 1 when not.
 */
#include "core/cueing.h"
#include "files/models.h"
#include "practice/cue_voice.h"
#include "support/find_sound.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define SEARCH_S 0.4
#define WITHIN_MS 20.0
#define SHARE 0.95

/* How many cues of the list are out of time, counted from the first, the announcement. */
static size_t check(const struct sl_clip *sound, const struct sl_cue_list *cues,
                    struct sl_cue_voice *voice)
{
    double zero = 0;
    size_t wrong = 0;
    for (size_t i = 0; i < cues->count; i++) {
        const struct sl_cue *cue = &cues->items[i];
        const struct sl_clip *clip = NULL;
        if (sl_cue_voice_clip(voice, cue->text, &clip, NULL) != SL_OK) {
            return cues->count;
        }
        double wanted = zero + cue->at_s * SL_CLIP_RATE_HZ;
        double margin = i == 0 ? 0 : SEARCH_S * SL_CLIP_RATE_HZ;
        /* The announcement: the first 15 s, by its first half second. */
        struct sl_clip head = *clip;
        head.n = i == 0 && head.n > SL_CLIP_RATE_HZ / 2 ? SL_CLIP_RATE_HZ / 2 : head.n;
        double place = i == 0 ? find_sound(sound, &head, 0, 15.0 * SL_CLIP_RATE_HZ)
                              : find_sound(sound, &head, wanted - margin, wanted + margin);
        if (i == 0) {
            zero = place - cue->at_s * SL_CLIP_RATE_HZ;
            wanted = place;
        }
        double error_ms = 1000 * (place - wanted) / SL_CLIP_RATE_HZ;
        bool found = place >= 0;
        printf("%6.2f s  %-24.24s ", cue->at_s, cue->text);
        if (found) {
            printf("%+.1f ms\n", error_ms);
        } else {
            printf("not found\n");
        }
        wrong += !found || fabs(error_ms) > WITHIN_MS ? 1 : 0;
    }
    return wrong;
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        return 2;
    }
    struct sl_junction junction = {0};
    struct sl_routine routine = {0};
    struct sl_car car = {0};
    struct sl_plan plan;
    struct sl_cue_list cues = {0};
    struct sl_clip sound = {0};
    struct sl_cue_voice *voice = NULL;
    struct sl_cue_voice_choice choice = {.pack = "none"};
    int code = 2;
    if (sl_load_junction(argv[2], &junction, NULL) == SL_OK &&
        sl_load_routine("decide-last", &routine, NULL) == SL_OK &&
        sl_load_car("small-petrol", &car, NULL) == SL_OK &&
        sl_plan_make(&junction, &routine, &car, &plan, NULL) == SL_OK &&
        sl_cue_voice_open(&choice, &voice, NULL) == SL_OK && load_sound(argv[1], &sound) == SL_OK) {
        struct sl_cueing cueing = {&junction, &routine, &plan, sl_cue_voice_length_s, voice};
        if (sl_cues_make(&cueing, sl_prompting_from_word(argv[3]), &cues, NULL) == SL_OK) {
            size_t wrong = check(&sound, &cues, voice);
            printf("%zu of %zu cues are out of time\n", wrong, cues.count);
            code = (double)wrong <= (1 - SHARE) * (double)cues.count ? 0 : 1;
        }
    }
    sl_cue_list_clear(&cues);
    sl_cue_voice_close(voice);
    free(sound.samples);
    sl_junction_clear(&junction);
    sl_routine_clear(&routine);
    sl_car_clear(&car);
    return code;
}

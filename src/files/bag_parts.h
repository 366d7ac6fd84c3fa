/*
 * What bag_reader.c (unpacking) and bag_check.c (comparing with the manifests) share.
 */
#ifndef SL_FILES_BAG_PARTS_H
#define SL_FILES_BAG_PARTS_H

#include "files/bag_reader.h"
#include "files/checksums.h"

#include <stdbool.h>

/* A file of the bag. */
struct sl_bag_entry {
    char *name; /* below the bag's folder: "data/set.yaml"; owned */
    struct sl_checksums_hex sums;
    unsigned long long bytes;
    bool listed[SL_CHECKSUM_COUNT]; /* in the manifest of that kind */
    struct sl_str text;             /* of a tag file */
};

struct sl_bag {
    const char *path; /* of the ZIP file */
    struct sl_bag_entry *entries;
    size_t n_entries, room;
};

/* Refuses the bag for what is in it; `name` NULL: for itself. */
#if defined(__GNUC__)
__attribute__((format(printf, 5, 6)))
#endif
enum sl_status
sl_bag_refuse(const struct sl_bag *bag, const char *name, enum sl_status status,
              struct sl_error *error, const char *format, ...);

/* True for what the payload manifest lists. */
bool sl_bag_is_payload(const char *name);

/* NULL when the name may stand in a bag, else what is wrong with it. */
const char *sl_bag_name_flaw(const char *name);

/* Compares all that was read with declaration, information and manifests. */
enum sl_status sl_bag_check(struct sl_bag *bag, struct sl_bag_said *said, struct sl_error *error);

#endif

/*
 * Submissions of others: a BagIt bag (RFC 8493) in a ZIP file, checked before anything in it is
 * used (libarchive). Whoever made the file may mean harm.
 */
#ifndef SL_FILES_BAG_READER_H
#define SL_FILES_BAG_READER_H

#include "core/status.h"
#include "core/str.h"

#include <stddef.h>

/* What a bag may be at the most. */
#define SL_BAG_MOST_ENTRIES 4000
#define SL_BAG_MOST_FILE_BYTES ((size_t)64 << 20)
#define SL_BAG_MOST_BYTES ((size_t)1 << 30)
#define SL_BAG_MOST_TAG_BYTES ((size_t)1 << 20)
/* Unpacked to packed, once more than SL_BAG_FREE_BYTES come out: FLAC hardly gets smaller. */
#define SL_BAG_MOST_RATIO 20
#define SL_BAG_FREE_BYTES ((size_t)1 << 20)

/* What bag-info.txt says; initialise with {0}, texts are owned, NULL: not said. */
struct sl_bag_said {
    char *contact, *date, *agent;
};

/*
 * Unpacks the payload of a bag into an existing empty folder: data/runs/NAME becomes FOLDER/NAME;
 * other payload is checked and thrown away. Memory does not grow with the sound in it.
 *
 * Refused, with `where` the bag and a message of its own each, after the name in the bag if it is
 * about one: no ZIP, broken, encrypted; absolute paths, "..", "~", "\", names outside the bag's
 * folder or of other characters than letters, digits, blanks in the folder's name and - _ . /;
 * links, devices; the same name twice, also in other capitals; too many, too large, unpacking to
 * too much; another version or encoding, no manifest, one of a kind of checksum that is not known,
 * files to be fetched, lines of manifests that are broken or double, a file that is missing, not
 * listed or has another checksum, a wrong Payload-Oxum. SL_NOT_FOUND, SL_IO, SL_FORMAT,
 * SL_TOO_LARGE, SL_INVALID, SL_NO_MEMORY.
 * What was unpacked until then stays in the folder.
 */
enum sl_status sl_bag_unpack(const char *path, const char *folder, struct sl_bag_said *said,
                             struct sl_error *error);

void sl_bag_said_clear(struct sl_bag_said *said);

#endif

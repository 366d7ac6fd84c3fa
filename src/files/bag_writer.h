/*
 * Submissions: a BagIt bag (RFC 8493) in a ZIP file, written by libarchive.
 */
#ifndef SL_FILES_BAG_WRITER_H
#define SL_FILES_BAG_WRITER_H

#include "core/homework.h"
#include "core/status.h"
#include "core/str.h"

struct sl_bag_writer;

/* What bag-info.txt says; nothing is owned, NULL: not said. Line ends become blanks. */
struct sl_bag_info {
    const char *contact;     /* Contact-Name: the learner */
    const char *description; /* External-Description */
    const char *agent;       /* Bag-Software-Agent */
    struct sl_date date;     /* Bagging-Date */
};

/*
 * Begins a bag that will stand at `path`; the folder in it is named as the file without ".zip".
 * Nothing is at `path` before sl_bag_writer_close; an older file stays until then. SL_IO,
 * SL_NO_MEMORY.
 */
enum sl_status sl_bag_writer_open(const char *path, struct sl_bag_writer **writer,
                                  struct sl_error *error);

/* Adds the file at `from` as data/NAME; a name is of letters and digits of ASCII and - _ . /, so
 * that no two systems see it differently and a manifest need not encode it. SL_NOT_FOUND, SL_IO
 * (also when it changes meanwhile), SL_NO_MEMORY. */
enum sl_status sl_bag_writer_add(struct sl_bag_writer *writer, const char *name, const char *from,
                                 struct sl_error *error);

/* The same with a text in place of a file. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_bag_writer_add_text(struct sl_bag_writer *writer, const char *name,
                                      const struct sl_str *text, struct sl_error *error);

/* Writes the tag files and puts the bag in its place, synced to the disk. SL_IO, SL_NO_MEMORY. */
enum sl_status sl_bag_writer_close(struct sl_bag_writer *writer, const struct sl_bag_info *info,
                                   struct sl_error *error);

/* Releases it; what was not closed leaves nothing behind. NULL is fine. */
void sl_bag_writer_free(struct sl_bag_writer *writer);

#endif

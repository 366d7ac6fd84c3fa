#include "core/pattern.h"

#include "core/str.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* An open bracket; the whole pattern is the outermost one. */
struct frame {
    char close; /* what ends it; '\0' for the whole pattern */
    size_t at;  /* offset of the bracket */
    bool optional;
    bool empty;      /* nothing in this alternative yet */
    bool silent;     /* this alternative, so far, can be said without a word */
    bool any_silent; /* so can an earlier alternative */
};

struct parser {
    const char *text;
    size_t at;
    struct frame frames[SL_PATTERN_DEPTH_MAX + 1];
    size_t depth;
    struct sl_pattern pattern;
    size_t column; /* of the offence */
    struct sl_error *error;
};

enum sl_status sl_pattern_fail(const char *text, size_t column, const char *what, const char *mend,
                               struct sl_error *error)
{
    char *where = sl_strf("pattern '%s', column %zu", text, column);
    enum sl_status status = sl_fail(error, SL_INVALID, where, mend, "%s", what);
    free(where);
    return status;
}

static enum sl_status fail_at(struct parser *parser, size_t offset, const char *what,
                              const char *mend)
{
    /* Bytes are characters up to here: the first that is not ASCII is itself an offence. */
    parser->column = offset + 1;
    return sl_pattern_fail(parser->text, parser->column, what, mend, parser->error);
}

static enum sl_status add_item(struct parser *parser, enum sl_pattern_kind kind)
{
    struct sl_pattern *pattern = &parser->pattern;
    struct sl_pattern_item *items =
        sl_grow(pattern->items, pattern->n_items, &pattern->room, sizeof *items);
    if (items == NULL) {
        return sl_fail_memory(parser->error);
    }
    pattern->items = items;
    items[pattern->n_items++] = (struct sl_pattern_item){.kind = kind, .column = parser->at + 1};
    return SL_OK;
}

/* Adds a word or a slot's name of `length` bytes. */
static enum sl_status add_text(struct parser *parser, enum sl_pattern_kind kind, const char *text,
                               size_t length)
{
    enum sl_status status = add_item(parser, kind);
    if (status == SL_OK) {
        char *copy = sl_strf("%.*s", (int)length, text);
        parser->pattern.items[parser->pattern.n_items - 1].text = copy;
        status = copy == NULL ? sl_fail_memory(parser->error) : SL_OK;
    }
    /* Every word and every value of a slot is said. */
    parser->frames[parser->depth].empty = false;
    parser->frames[parser->depth].silent = false;
    return status;
}

static bool is_letter(char c)
{
    return c >= 'a' && c <= 'z';
}

static bool joins_letters(char c)
{
    return c == '\'' || c == '-';
}

static enum sl_status parse_word(struct parser *parser)
{
    const char *word = parser->text + parser->at;
    size_t length = 0;
    while (is_letter(word[length]) || joins_letters(word[length])) {
        length++;
    }
    if (joins_letters(word[length - 1])) {
        return fail_at(parser, parser->at + length - 1,
                       "a word ends with an apostrophe or a hyphen", "end it with a letter");
    }
    enum sl_status status = add_text(parser, SL_PATTERN_WORD, word, length);
    parser->at += length;
    return status;
}

static enum sl_status parse_slot(struct parser *parser)
{
    const char *name = parser->text + parser->at + 1;
    size_t length = 0;
    while (is_letter(name[length]) || name[length] == '-') {
        length++;
    }
    if (name[length] != '>') {
        return fail_at(parser, parser->at + 1 + length, "a slot's name is not ended by >",
                       "write it as <name>, with lower case letters and hyphens");
    }
    if (length == 0) {
        return fail_at(parser, parser->at, "a slot has no name", "write it as <name>");
    }
    enum sl_status status = add_text(parser, SL_PATTERN_SLOT, name, length);
    parser->at += length + 2;
    return status;
}

static enum sl_status parse_open(struct parser *parser)
{
    if (parser->depth == SL_PATTERN_DEPTH_MAX) {
        return fail_at(parser, parser->at, "brackets are nested deeper than 8",
                       "split it into several patterns");
    }
    bool optional = parser->text[parser->at] == '[';
    enum sl_status status = add_item(parser, optional ? SL_PATTERN_OPTIONAL : SL_PATTERN_CHOICE);
    parser->frames[++parser->depth] = (struct frame){.close = optional ? ']' : ')',
                                                     .at = parser->at,
                                                     .optional = optional,
                                                     .empty = true,
                                                     .silent = true};
    parser->at++;
    return status;
}

static enum sl_status parse_or(struct parser *parser)
{
    struct frame *frame = &parser->frames[parser->depth];
    if (parser->depth == 0) {
        return fail_at(parser, parser->at, "alternatives stand outside brackets",
                       "put them in (round) brackets, or write two patterns");
    }
    if (frame->empty) {
        return fail_at(parser, parser->at, "an alternative is empty",
                       "write a word before the |, or make the bracket [optional]");
    }
    enum sl_status status = add_item(parser, SL_PATTERN_OR);
    frame->any_silent = frame->any_silent || frame->silent;
    frame->empty = true;
    frame->silent = true;
    parser->at++;
    return status;
}

static enum sl_status parse_close(struct parser *parser)
{
    const struct frame *frame = &parser->frames[parser->depth];
    if (frame->close != parser->text[parser->at]) {
        return fail_at(parser, parser->at, "a bracket is closed that is not open",
                       "close each bracket with its twin: [ with ], ( with )");
    }
    if (frame->empty) {
        return fail_at(parser, parser->at, "an alternative is empty",
                       "write a word in it, or take it away");
    }
    enum sl_status status = add_item(parser, SL_PATTERN_CLOSE);
    bool silent = frame->optional || frame->any_silent || frame->silent;
    struct frame *outer = &parser->frames[--parser->depth];
    outer->empty = false;
    outer->silent = outer->silent && silent;
    parser->at++;
    return status;
}

static enum sl_status parse_next(struct parser *parser)
{
    char c = parser->text[parser->at];
    switch (c) {
    case ' ':
        parser->at++;
        return SL_OK;
    case '<':
        return parse_slot(parser);
    case '[':
    case '(':
        return parse_open(parser);
    case '|':
        return parse_or(parser);
    case ']':
    case ')':
        return parse_close(parser);
    default:
        break;
    }
    if (is_letter(c)) {
        return parse_word(parser);
    }
    if (joins_letters(c)) {
        return fail_at(parser, parser->at, "a word begins with an apostrophe or a hyphen",
                       "begin it with a letter");
    }
    if (c >= 'A' && c <= 'Z') {
        return fail_at(parser, parser->at, "there is a capital letter",
                       "write words in lower case, as they are said");
    }
    if (c >= '0' && c <= '9') {
        return fail_at(parser, parser->at, "there is a figure",
                       "write numbers as the words that are said");
    }
    return fail_at(parser, parser->at, "there is a character that no pattern has",
                   "use words, spaces, [ ] ( ) | and <slot> only");
}

static enum sl_status parse_all(struct parser *parser)
{
    enum sl_status status = SL_OK;
    while (status == SL_OK && parser->text[parser->at] != '\0') {
        status = parse_next(parser);
    }
    const struct frame *frame = &parser->frames[parser->depth];
    if (status == SL_OK && parser->depth > 0) {
        status = fail_at(parser, frame->at, "a bracket is not closed",
                         frame->optional ? "close it with ]" : "close it with )");
    }
    if (status == SL_OK && frame->empty) {
        status = fail_at(parser, 0, "the pattern is empty", "write the words that are said");
    }
    if (status == SL_OK && frame->silent) {
        status = fail_at(parser, 0, "the pattern can be said without any word",
                         "leave at least one word that is not optional");
    }
    return status;
}

enum sl_status sl_pattern_parse(const char *text, struct sl_pattern *pattern, size_t *column,
                                struct sl_error *error)
{
    struct parser parser = {.text = text, .error = error};
    parser.frames[0] = (struct frame){.empty = true, .silent = true};
    enum sl_status status = SL_OK;
    if (strlen(text) > SL_PATTERN_LENGTH_MAX) {
        parser.column = SL_PATTERN_LENGTH_MAX + 1;
        status = sl_fail(error, SL_INVALID, NULL, "split it into several patterns",
                         "a pattern is longer than %d characters", SL_PATTERN_LENGTH_MAX);
    } else {
        status = parse_all(&parser);
    }
    if (status != SL_OK) {
        sl_pattern_clear(&parser.pattern);
        if (column != NULL && status == SL_INVALID) {
            *column = parser.column;
        }
        return status;
    }
    *pattern = parser.pattern;
    return SL_OK;
}

void sl_pattern_clear(struct sl_pattern *pattern)
{
    for (size_t i = 0; i < pattern->n_items; i++) {
        free(pattern->items[i].text);
    }
    free(pattern->items);
    *pattern = (struct sl_pattern){0};
}

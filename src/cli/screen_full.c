/* The live view on the whole terminal. The one file that knows ncurses. */
#include "cli/live.h"
#include "cli/screen.h"

#include <ncurses.h>
#include <term.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN 1

struct full {
    struct sl_live live;
    SCREEN *terminal; /* NULL between runs */
    bool begun;
};

static void draw(struct full *full)
{
    struct sl_live_rows rows = {0};
    int margin = COLS >= 60 ? MARGIN : 0;
    sl_live_rows(&full->live, COLS - 2 * margin, LINES, &rows);
    erase();
    for (size_t i = 0; i < rows.n; i++) {
        attrset(rows.items[i].weight == SL_LIVE_STRONG ? A_BOLD : A_NORMAL);
        mvaddstr((int)i, margin, sl_str_text(&rows.items[i].text));
    }
    refresh();
    sl_live_rows_clear(&rows);
}

/* Terminals that cannot be opened were ruled out before; if one fails now, the run goes on unseen.
 */
static void begin(void *self, const struct sl_screen_run *run)
{
    struct full *full = self;
    sl_live_begin(&full->live, run);
    full->begun = true;
    full->terminal = newterm(NULL, stdout, stdin);
    if (full->terminal != NULL) {
        cbreak();
        noecho();
        curs_set(0);
        nodelay(stdscr, TRUE);
        keypad(stdscr, TRUE); /* so that a change of size is seen */
        draw(full);
    }
}

static void show(void *self, const struct sl_event *event)
{
    struct full *full = self;
    sl_live_event(&full->live, event);
    if (full->terminal != NULL) {
        while (getch() != ERR) { /* keys mean nothing; a new size is taken in */
        }
        draw(full);
    }
}

static void end(void *self)
{
    struct full *full = self;
    if (full->terminal != NULL) {
        endwin();
        delscreen(full->terminal);
        full->terminal = NULL;
    }
    if (full->begun) {
        sl_live_clear(&full->live);
        full->begun = false;
    }
}

static void free_full(void *self)
{
    end(self);
    free(self);
}

enum sl_status sl_screen_full(struct sl_screen *screen, struct sl_error *error)
{
    struct full *full = calloc(1, sizeof *full);
    if (full == NULL) {
        return sl_fail_memory(error);
    }
    int found = 0;
    if (setupterm(NULL, fileno(stdout), &found) != OK) {
        free(full);
        return sl_fail(error, SL_UNSUPPORTED, "TERM", "use --plain",
                       "this terminal cannot show a full screen");
    }
    del_curterm(cur_term);
    *screen = (struct sl_screen){begin, show, end, free_full, full};
    // cppcheck-suppress memleak ; the screen has it
    return SL_OK;
}

#include "store/schema.h"

/* Every setting that words can name, a column each; NULL: not named. Mirrors in the order said,
 * parted by commas. */
#define SETTINGS                                                                                   \
    "mirrors TEXT, signal TEXT, speed_mps REAL, gear INTEGER, clutch TEXT, decision TEXT, "        \
    "position TEXT"

/* The first: learners, marked runs, what was heard in them, and their verdicts. */
static const char runs[] =
    "CREATE TABLE learner ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;"
    "CREATE TABLE run ("
    " id INTEGER PRIMARY KEY,"
    " learner INTEGER NOT NULL REFERENCES learner ON DELETE CASCADE,"
    " at_s INTEGER NOT NULL," /* since 1970 */
    " rehearsed INTEGER NOT NULL,"
    " junction TEXT NOT NULL, routine TEXT NOT NULL, car TEXT NOT NULL," /* as for a command line */
    " approach_mps REAL," /* in place of the junction's; NULL: as it is */
    " kind TEXT NOT NULL, control TEXT NOT NULL, turn TEXT NOT NULL, view TEXT NOT NULL,"
    " prompting TEXT, sound TEXT, sha256 TEXT, recorded_with TEXT,"
    " from_s REAL NOT NULL, timed INTEGER NOT NULL, hiding INTEGER NOT NULL,"
    /* the mark */
    " marked_with TEXT NOT NULL, score_order REAL, score_completeness REAL, score_settings REAL,"
    " score_timing REAL, score_overall REAL, rolling_s REAL, next TEXT) STRICT;"
    "CREATE INDEX run_by_learner ON run (learner, routine);"
    "CREATE INDEX run_by_sound ON run (sha256);"
    "CREATE TABLE phrase ("
    " run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT NULL,"
    " phase TEXT NOT NULL, words TEXT NOT NULL, start_s REAL NOT NULL, end_s REAL NOT NULL,"
    " confidence REAL NOT NULL, unclear INTEGER NOT NULL, " SETTINGS ","
    " PRIMARY KEY (run, n)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE phase ("
    " run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT NULL,"
    " phase TEXT NOT NULL, heard INTEGER NOT NULL, unclear INTEGER NOT NULL, at_s REAL, end_s REAL,"
    " opens_s REAL, due_s REAL, closes_s REAL, corrected INTEGER NOT NULL,"
    " settled TEXT, settled_at_s REAL, " /* by an instructor; the moment on the sound's clock */
    SETTINGS ","
    " PRIMARY KEY (run, n)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE fault ("
    " run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT NULL,"
    " phase TEXT NOT NULL, kind TEXT NOT NULL, at_s REAL, due_s REAL, rule TEXT NOT NULL,"
    " what TEXT NOT NULL, reason TEXT NOT NULL,"
    " PRIMARY KEY (run, n)) STRICT, WITHOUT ROWID;";

/* The second: answers of the recall drill. Parts are keys parted by commas. */
static const char recall[] =
    "CREATE TABLE recall ("
    " id INTEGER PRIMARY KEY,"
    " learner INTEGER NOT NULL REFERENCES learner ON DELETE CASCADE,"
    " at_s INTEGER NOT NULL, question TEXT NOT NULL, heard TEXT, gave_up INTEGER NOT NULL,"
    " view TEXT, " SETTINGS ","
    " right TEXT NOT NULL, wrong TEXT NOT NULL, unsaid TEXT NOT NULL, unclear TEXT NOT NULL,"
    " recalled TEXT NOT NULL, after_s REAL NOT NULL, marked_with TEXT NOT NULL) STRICT;"
    "CREATE INDEX recall_by_learner ON recall (learner, at_s);";

/* The third: drives. The number that brought the others who were there; NULL: rehearsed or marked
 * only. */
static const char drives[] = "ALTER TABLE run ADD COLUMN seed INTEGER;";

const char *const sl_schema_steps[] = {runs, recall, drives};
const int sl_schema_version = sizeof sl_schema_steps / sizeof *sl_schema_steps;

-- A season database as version 1 made it. Frozen: it is what old seasons look like.
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE games (
    id TEXT PRIMARY KEY, date TEXT NOT NULL, opponent TEXT NOT NULL, home INTEGER NOT NULL,
    about TEXT NOT NULL DEFAULT '', chosen_book TEXT NOT NULL DEFAULT ''
) WITHOUT ROWID;
CREATE TABLE films (
    id TEXT PRIMARY KEY, game TEXT NOT NULL REFERENCES games (id), place INTEGER NOT NULL, name TEXT NOT NULL,
    path TEXT NOT NULL DEFAULT '', size_bytes INTEGER NOT NULL DEFAULT 0, mtime_ns INTEGER NOT NULL DEFAULT 0,
    fingerprint TEXT NOT NULL DEFAULT '', gap_ms INTEGER NOT NULL DEFAULT 0,
    gap_from TEXT NOT NULL DEFAULT '', duration_ms INTEGER NOT NULL,
    n_frames INTEGER NOT NULL DEFAULT 0, plays INTEGER NOT NULL DEFAULT 1,
    slow TEXT NOT NULL DEFAULT '', facts TEXT NOT NULL DEFAULT '',
    damage TEXT NOT NULL DEFAULT '[]', frame_index BLOB, UNIQUE (game, place)
) WITHOUT ROWID;
CREATE TABLE copies (
    film TEXT NOT NULL REFERENCES films (id) ON DELETE CASCADE, kind TEXT NOT NULL, size_bytes INTEGER NOT NULL,
    per_frame INTEGER NOT NULL, frame_index BLOB NOT NULL, PRIMARY KEY (film, kind)
) WITHOUT ROWID;
CREATE TABLE strips (
    film TEXT PRIMARY KEY REFERENCES films (id) ON DELETE CASCADE, version INTEGER NOT NULL, body BLOB NOT NULL
);
CREATE TABLE jobs (
    id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, urgency INTEGER NOT NULL,
    game TEXT REFERENCES games (id) ON DELETE CASCADE, film TEXT REFERENCES films (id) ON DELETE CASCADE,
    body TEXT NOT NULL DEFAULT '{}', state TEXT NOT NULL DEFAULT 'waiting', share REAL NOT NULL DEFAULT 0,
    left_s REAL, told TEXT NOT NULL DEFAULT '', why TEXT NOT NULL DEFAULT '', need_bytes INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE journal (
    seq INTEGER PRIMARY KEY AUTOINCREMENT, game TEXT NOT NULL REFERENCES games (id), book TEXT NOT NULL,
    id TEXT NOT NULL UNIQUE, n INTEGER NOT NULL, body TEXT NOT NULL, UNIQUE (game, book, n, id)
);
CREATE TRIGGER journal_keeps BEFORE UPDATE ON journal BEGIN
    SELECT RAISE(ABORT, 'the journal only grows: an entry is never changed'); END;
CREATE TRIGGER journal_holds BEFORE DELETE ON journal BEGIN
    SELECT RAISE(ABORT, 'the journal only grows: an entry is never deleted'); END;
INSERT INTO games (id, date, opponent, home) VALUES ('g1', '2026-03-14', 'Quarry Hill', 1);
INSERT INTO films (id, game, place, name, duration_ms) VALUES ('f1', 'g1', 1, 'first.mp4', 60000);
INSERT INTO journal (game, book, id, n, body) VALUES ('g1', 'anna', 'e1', 1, '{"v":1,"id":"e1","n":1,"by":"anna","does":"mark","kind":"period_start","film":"f1","at_ms":1000,"answers":{}}');
PRAGMA user_version = 1;

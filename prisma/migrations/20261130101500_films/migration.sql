-- Who may see film, and how much of it a conference keeps; without a row, as the columns' defaults say.
CREATE TABLE film_setting (
  conference_id uuid PRIMARY KEY REFERENCES conference (id),
  viewers       text NOT NULL DEFAULT 'observers' CHECK (viewers IN ('coordinators', 'observers', 'officials')),
  -- Of one film and of all together, in millions of bytes.
  largest       integer NOT NULL DEFAULT 12000 CHECK (largest BETWEEN 1 AND 1000000),
  space         integer NOT NULL DEFAULT 200000 CHECK (space BETWEEN 1 AND 100000000)
);

-- A film of a game from one angle. Its file lies outside the database, under its id; a link's lies elsewhere.
CREATE TABLE film (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  game_id       uuid NOT NULL,
  angle         text NOT NULL CHECK (length(angle) BETWEEN 1 AND 80),
  source        text NOT NULL CHECK (source IN ('upload', 'folder', 'link')),
  -- A link's address, or the name of a file in the server's folder.
  place         text,
  -- As whoever uploaded it named the file.
  file_name     text NOT NULL DEFAULT '',
  -- arriving: not all of it is here; waiting: to be looked at; ready: can be watched; refused: `refused` says why.
  state         text NOT NULL CHECK (state IN ('arriving', 'waiting', 'ready', 'refused')),
  -- Of the file as it came, and of what was made of it for browsers; 0 where nothing was.
  bytes         bigint NOT NULL DEFAULT 0 CHECK (bytes >= 0),
  made_bytes    bigint NOT NULL DEFAULT 0 CHECK (made_bytes >= 0),
  -- What was found by looking: length, picture, sound.
  facts         jsonb,
  refused       text,
  -- Why looking at it has to wait, in a sentence.
  trouble       text,
  -- Of looking at it, 0 to 1; who has it in hand, until when another may take it, and how often it was begun.
  progress      double precision NOT NULL DEFAULT 0,
  in_hand_of    uuid,
  in_hand_until timestamptz,
  attempts      integer NOT NULL DEFAULT 0,
  made_by       uuid NOT NULL,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  CONSTRAINT film_angle UNIQUE (conference_id, game_id, angle),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  CHECK ((source = 'upload') = (place IS NULL)),
  CHECK ((state = 'refused') = (refused IS NOT NULL))
);
CREATE INDEX film_waiting ON film (made_at) WHERE state = 'waiting';

-- Where the snap of a play is in a film, seconds.
CREATE TABLE film_mark (
  conference_id uuid NOT NULL,
  film_id       uuid NOT NULL,
  play_id       uuid NOT NULL,
  seconds       double precision NOT NULL CHECK (seconds BETWEEN 0 AND 86400),
  made_by       uuid NOT NULL,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, film_id, play_id),
  FOREIGN KEY (conference_id, film_id) REFERENCES film (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);

-- Failed sign-ins, counted by a growing delay: after a number of failures a key may be tried again only from open_at
-- on, and is forgotten at forgotten_at. Keys are hashes: what people type into the wrong field is not kept. Counts so
-- far were for minutes only.
DROP TABLE sign_in_attempt;
CREATE TABLE sign_in_attempt (
  key          text PRIMARY KEY,
  failures     integer NOT NULL,
  open_at      timestamptz NOT NULL,
  forgotten_at timestamptz NOT NULL
);
CREATE INDEX sign_in_attempt_forgotten ON sign_in_attempt (forgotten_at);

-- Devices on which a person has signed in: others' guesses at the person's password do not keep them waiting there.
-- The cookie's token is kept as a hash.
CREATE TABLE known_device (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  token_hash    text NOT NULL,
  last_seen_at  timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, person_id, token_hash),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX known_device_last_seen ON known_device (last_seen_at);

-- Tokens for programs: each acts for the coordinator who made it, in one role, until a day.
CREATE TABLE api_token (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  -- Who made it, and for whom it acts.
  person_id     uuid NOT NULL,
  name          text NOT NULL,
  role          text NOT NULL CHECK (role IN ('coordinator', 'observer', 'official')),
  read_only     boolean NOT NULL,
  token_hash    text NOT NULL UNIQUE,
  created_at    timestamptz NOT NULL DEFAULT now(),
  expires_at    timestamptz NOT NULL,
  -- To the hour.
  last_used_at  timestamptz,
  revoked_at    timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX api_token_person ON api_token (conference_id, person_id);

-- By which token somebody acted, if by one: its id and its name as it was.
ALTER TABLE audit_entry ADD COLUMN token jsonb;

-- What people are told. A message is written in the transaction of what it tells, is on its person's desk at once, and
-- goes out by mail from here: this is the one outbox. It holds what happened and nothing secret: a link that lets
-- somebody in is made when the mail is sent.
CREATE TABLE message (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  person_id     uuid NOT NULL,
  kind          text NOT NULL CHECK (kind IN (
    'invitation', 'offer', 'change', 'withdrawal', 'reminder', 'declined', 'filed', 'returned', 'released',
    'window closing', 'reply', 'ruling', 'letter', 'password link')),
  -- The assignment, report, reply or letter that it is about.
  about_id      uuid,
  -- What its template says, frozen as it happened.
  facts         jsonb NOT NULL,
  -- Of the same kind, person and key only the first is kept.
  once          text,
  happened_at   timestamptz NOT NULL DEFAULT now(),
  read_at       timestamptz,
  mail          text NOT NULL DEFAULT 'waiting' CHECK (mail IN ('waiting', 'sent', 'failed', 'not mailed')),
  not_mailed_because text CHECK (not_mailed_because IN (
    'not wanted', 'no mail server', 'overtaken', 'not asked for', 'brought in', 'address refused', 'let be')),
  -- Waits for its person's daily mail.
  digest        boolean NOT NULL DEFAULT false,
  attempts      integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  -- While a process has it in hand, when another may take it.
  next_attempt  timestamptz NOT NULL DEFAULT now(),
  last_error    text,
  sent_at       timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE,
  CHECK ((mail = 'not mailed') = (not_mailed_because IS NOT NULL))
);
CREATE INDEX message_waiting ON message (next_attempt) WHERE mail = 'waiting';
CREATE INDEX message_person ON message (conference_id, person_id, happened_at);
CREATE INDEX message_about ON message (conference_id, about_id);
CREATE UNIQUE INDEX message_once ON message (conference_id, person_id, kind, once) WHERE once IS NOT NULL;

-- Signs the links by which mail is stopped without signing in.
CREATE TABLE mail_key (
  conference_id uuid PRIMARY KEY REFERENCES conference (id),
  key           text NOT NULL
);

ALTER TABLE person
  ADD COLUMN mail_wanted text NOT NULL DEFAULT 'at once' CHECK (mail_wanted IN ('at once', 'daily', 'none')),
  -- The mail server refused the address for good.
  ADD COLUMN mail_refused_at timestamptz,
  ADD COLUMN mail_refused_because text;

-- Another address has not been refused, whoever wrote it.
CREATE FUNCTION address_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  NEW.mail_refused_at := NULL;
  NEW.mail_refused_because := NULL;
  RETURN NEW;
END
$$;
CREATE TRIGGER person_address_changed BEFORE UPDATE OF email ON person FOR EACH ROW
  WHEN (OLD.email <> NEW.email) EXECUTE FUNCTION address_changed();

-- Invitations and letters wait in the outbox like everything else.
INSERT INTO message (conference_id, person_id, kind, facts, happened_at, read_at, mail, attempts, next_attempt,
                     last_error, sent_at)
SELECT i.conference_id, i.person_id, 'invitation',
       jsonb_build_object('coordinator', coalesce((SELECT a.given_name || ' ' || a.family_name FROM person a
                                                    WHERE a.conference_id = i.conference_id AND a.id = i.asked_by), '')),
       i.asked_at, i.asked_at, i.state, i.attempts, i.next_attempt, i.last_error, i.sent_at
  FROM invitation i WHERE i.state IN ('waiting', 'sent', 'failed');
ALTER TABLE invitation DROP CONSTRAINT invitation_state_check;
DROP INDEX invitation_waiting;
UPDATE invitation SET state = 'mailed' WHERE state IN ('waiting', 'sent', 'failed');
ALTER TABLE invitation
  ADD CONSTRAINT invitation_state_check CHECK (state IN ('mailed', 'handed over', 'withdrawn')),
  DROP COLUMN attempts, DROP COLUMN last_error, DROP COLUMN next_attempt, DROP COLUMN sent_at;

INSERT INTO message (conference_id, person_id, kind, about_id, facts, happened_at, read_at, mail, attempts,
                     next_attempt, last_error, sent_at)
SELECT d.conference_id, l.person_id, 'letter', d.letter_id,
       jsonb_build_object('letter', CASE l.kind WHEN 'mid-season' THEN 'Mid-season evaluation' ELSE 'End-of-season evaluation' END,
                          'season', s.name, 'edition', l.edition, 'attached', d.attached),
       coalesce(l.released_at, l.created_at), l.released_at, d.state, d.attempts, d.next_attempt, d.last_error, d.sent_at
  FROM letter_delivery d
  JOIN letter l ON l.conference_id = d.conference_id AND l.id = d.letter_id
  JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id;
DROP TABLE letter_delivery;

-- Only asked for; the mail is a message like the others.
DROP INDEX password_request_next;
ALTER TABLE password_request DROP COLUMN attempts, DROP COLUMN next_attempt;
CREATE INDEX password_request_asked ON password_request (asked_at);

-- What is told of an assignment.
CREATE FUNCTION assignment_facts(conference uuid, assignment uuid) RETURNS jsonb LANGUAGE sql STABLE AS $$
  SELECT jsonb_build_object('game', t.title, 'week', g.week, 'kickoff', g.kickoff, 'timeZone', v.time_zone,
                            'venue', v.name, 'how', a.how, 'answer', a.answer)
    FROM observer_assignment a
    JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
    JOIN game_teams t ON t.conference_id = a.conference_id AND t.game_id = a.game_id
    JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
   WHERE a.conference_id = conference AND a.id = assignment
$$;

-- An observer is told of every offer, change and withdrawal of a game to come, whichever page, file or program made it.
-- What somebody says of a game that is over (a file of last year's assignments) is no news.
CREATE FUNCTION tell_of_assignment() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  news text;
  facts jsonb;
BEGIN
  IF TG_OP = 'INSERT' THEN
    news := CASE WHEN NEW.answer = 'offered' THEN 'offer' END;
  ELSIF NEW.withdrawn_at IS NOT NULL AND OLD.withdrawn_at IS NULL THEN
    news := 'withdrawal';
  ELSIF NEW.answer = 'offered' AND (OLD.answer = 'declined' OR OLD.offered_at <> NEW.offered_at) THEN
    news := CASE WHEN OLD.answer = 'declined' OR OLD.how = NEW.how THEN 'offer' ELSE 'change' END;
  ELSIF NEW.answer <> 'declined' AND OLD.how <> NEW.how THEN
    news := 'change';
  END IF;
  IF news IS NULL THEN
    RETURN NULL;
  END IF;
  facts := assignment_facts(NEW.conference_id, NEW.id);
  IF news = 'withdrawal' THEN
    facts := facts || jsonb_build_object('wasAccepted', OLD.answer = 'accepted');
  ELSIF TG_OP = 'UPDATE' AND news = 'change' THEN
    facts := facts || jsonb_build_object('before', jsonb_build_object('how', OLD.how));
  END IF;
  INSERT INTO message (conference_id, person_id, kind, about_id, facts)
  SELECT NEW.conference_id, NEW.observer_id, news, NEW.id, facts
   WHERE (facts ->> 'kickoff')::timestamptz > now() OR NEW.how = 'film' OR news = 'withdrawal';
  RETURN NULL;
END
$$;
CREATE TRIGGER observer_assignment_told AFTER INSERT OR UPDATE ON observer_assignment FOR EACH ROW
  EXECUTE FUNCTION tell_of_assignment();

-- A game moved: besides raising the revision that calendars follow, its observers are told.
CREATE OR REPLACE FUNCTION game_revises_assignments() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE observer_assignment SET revision = revision + 1, changed_at = now()
   WHERE conference_id = NEW.conference_id AND game_id = NEW.id;
  INSERT INTO message (conference_id, person_id, kind, about_id, facts)
  SELECT a.conference_id, a.observer_id, 'change', a.id,
         assignment_facts(a.conference_id, a.id) || jsonb_build_object('before', jsonb_strip_nulls(jsonb_build_object(
           'kickoff', CASE WHEN OLD.kickoff <> NEW.kickoff THEN OLD.kickoff END,
           'timeZone', v.time_zone,
           'venue', CASE WHEN OLD.venue_id <> NEW.venue_id THEN v.name END,
           'game', CASE WHEN (OLD.home_team_id, OLD.visiting_team_id) <> (NEW.home_team_id, NEW.visiting_team_id)
                        THEN visitor.name || ' at ' || home.name END)))
    FROM observer_assignment a
    JOIN venue v ON v.conference_id = a.conference_id AND v.id = OLD.venue_id
    JOIN team home ON home.conference_id = a.conference_id AND home.id = OLD.home_team_id
    JOIN team visitor ON visitor.conference_id = a.conference_id AND visitor.id = OLD.visiting_team_id
   WHERE a.conference_id = NEW.conference_id AND a.game_id = NEW.id AND a.answer <> 'declined'
     AND greatest(OLD.kickoff, NEW.kickoff) > now();
  RETURN NULL;
END
$$;

ALTER TABLE observer_assignment DROP COLUMN told_at, DROP COLUMN reminded_at;

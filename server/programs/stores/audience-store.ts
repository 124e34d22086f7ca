import type { PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tell } from '../../messages/tell.ts';
import type { EditionContent, EditionPlay } from '../edition.ts';
import type { Program } from '../program.ts';

/** Whom an edition is for, as it was settled at its release. */
export interface Audience {
  readonly audience: Program['audience'];
  readonly position: string | null;
  readonly crewId: string | null;
}

interface Meant {
  readonly personId: string;
  readonly because: 'official' | 'observer' | 'position' | 'crew';
}

/**
 * Who belongs to an audience now: active people who have not left the season; a position's, who stand there in a crew of
 * the season or worked a game of it there; a crew's, its members.
 */
export async function audienceNow(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  { audience, position, crewId }: Audience,
): Promise<Meant[]> {
  const { rows } = await db.query<Meant>(
    `WITH meant AS (
       SELECT r.person_id, r.role AS because FROM person_role r
        WHERE r.conference_id = $1 AND ($3 = 'everybody' AND r.role IN ('official', 'observer')
                                        OR $3 = 'observers' AND r.role = 'observer')
       UNION ALL
       SELECT m.person_id, 'position' FROM crew c
         JOIN crew_member m ON m.conference_id = $1 AND m.crew_id = c.id AND m.position = $4
        WHERE c.conference_id = $1 AND c.season_id = $2 AND $3 = 'position'
       UNION ALL
       SELECT w.person_id, 'position' FROM game g
         JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = g.id AND w.position = $4
        WHERE g.conference_id = $1 AND g.season_id = $2 AND $3 = 'position'
       UNION ALL
       SELECT m.person_id, 'crew' FROM crew_member m
        WHERE m.conference_id = $1 AND m.crew_id = $5::uuid AND $3 = 'crew')
     SELECT DISTINCT ON (m.person_id) m.person_id AS "personId", m.because
       FROM meant m JOIN person p ON p.conference_id = $1 AND p.id = m.person_id AND p.active AND p.erased_at IS NULL
      WHERE NOT EXISTS (SELECT FROM season_departure d
                         WHERE d.conference_id = $1 AND d.season_id = $2 AND d.person_id = m.person_id)
      ORDER BY m.person_id, m.because DESC`,
    [conferenceId, seasonId, audience, position, crewId],
  );
  return rows;
}

/**
 * Keeps whom an edition is for and tells them. Who was added by hand to the edition before stays in; what they answered
 * on plays that did not change is carried over.
 */
export async function keepAudience(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  program: Program,
  { number, note, content }: { number: number; note: string; content: EditionContent },
): Promise<void> {
  const audience: Audience = {
    audience: program.audience,
    position: program.audiencePosition,
    crewId: program.audienceCrewId,
  };
  await client.query(
    `INSERT INTO training_audience (conference_id, program_id, edition_number, audience, position, crew_id)
     VALUES ($1, $2, $3, $4, $5, $6)`,
    [conferenceId, program.id, number, audience.audience, audience.position, audience.crewId],
  );
  const meant = await audienceNow(client, conferenceId, program.seasonId, audience);
  await client.query(
    `INSERT INTO training_viewer (conference_id, program_id, edition_number, person_id, because, added_by)
     SELECT $1, $2, $3, m."personId", m.because, $5 FROM jsonb_to_recordset($4::jsonb) AS m ("personId" uuid, because text)`,
    [conferenceId, program.id, number, JSON.stringify(meant), personId],
  );
  await client.query(
    `INSERT INTO training_viewer (conference_id, program_id, edition_number, person_id, because, added_by)
     SELECT $1, $2, $3, v.person_id, v.because, v.added_by FROM training_viewer v
       JOIN person p ON p.conference_id = $1 AND p.id = v.person_id AND p.active
      WHERE v.conference_id = $1 AND v.program_id = $2 AND v.edition_number = $3 - 1 AND v.because = 'by hand'
     ON CONFLICT DO NOTHING`,
    [conferenceId, program.id, number],
  );
  if (number > 1) await carryAnswers(client, conferenceId, program, number, content);
  const { rows } = await client.query<{ id: string }>(
    `SELECT person_id AS id FROM training_viewer WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3`,
    [conferenceId, program.id, number],
  );
  await tellViewers(
    client,
    conferenceId,
    program,
    { number, note },
    rows.map(({ id }) => id),
  );
}

/** An edition is there to be watched: on each desk, and by mail. */
export async function tellViewers(
  client: Queryable,
  conferenceId: string,
  { id, title, goal, dueOn }: Pick<Program, 'id' | 'title' | 'goal' | 'dueOn'>,
  { number, note }: { readonly number: number; readonly note: string },
  personIds: readonly string[],
): Promise<void> {
  await tell(client, {
    conferenceId,
    personIds,
    kind: 'training',
    aboutId: id,
    once: `${id} ${number}`,
    facts: { title, goal, dueOn, edition: number, note },
  });
}

/** What makes a play the same to whom answered it: what is asked, what is acceptable, and what is said of it. */
const asked = ({ question, choices, answer, twoMechanics, ruleCited, mechanicCited, keys }: EditionPlay) =>
  JSON.stringify([
    question,
    choices.map(({ text, right }) => [text, right]),
    answer,
    twoMechanics,
    ruleCited,
    mechanicCited,
    keys,
  ]);

async function carryAnswers(
  client: Queryable,
  conferenceId: string,
  program: Program,
  number: number,
  content: EditionContent,
): Promise<void> {
  const { rows } = await client.query<{
    content: EditionContent;
    sources: { number: number; playId: string }[];
  }>(
    `SELECT content, sources FROM training_edition WHERE conference_id = $1 AND program_id = $2 AND number = $3`,
    [conferenceId, program.id, number - 1],
  );
  const before = rows[0]!;
  const same = program.plays.flatMap(({ playId }, at) => {
    const from = before.sources.find((source) => source.playId === playId)?.number;
    const earlier = before.content.plays.find((play) => play.number === from);
    const now = content.plays[at]!;
    return earlier && now.choices.length > 0 && asked(earlier) === asked(now)
      ? [{ from: earlier.number, to: now.number }]
      : [];
  });
  await client.query(
    `INSERT INTO training_answer (conference_id, program_id, edition_number, person_id, play_number, choice, is_right, how, answered_at)
     SELECT $1, $2, $3, a.person_id, s."to", a.choice, a.is_right, 'carried', a.answered_at
       FROM jsonb_to_recordset($4::jsonb) AS s ("from" int, "to" int)
       JOIN training_answer a ON a.conference_id = $1 AND a.program_id = $2 AND a.edition_number = $3 - 1 AND a.play_number = s."from"
       JOIN training_viewer v ON v.conference_id = $1 AND v.program_id = $2 AND v.edition_number = $3 AND v.person_id = a.person_id`,
    [conferenceId, program.id, number, JSON.stringify(same)],
  );
}

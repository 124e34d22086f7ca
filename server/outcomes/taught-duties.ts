import type { Queryable } from '../database/transaction.ts';
import type { Program } from '../programs/program.ts';
import { type DutyName, dutiesOfSeason, readDuties } from '../results/patterns/pattern-counts.ts';
import { dayIn } from '../web/today.ts';

/** When a released program was taught: games up to `until` are before, games later than `from` are after. */
export interface Teaching {
  /** The day of the first edition. */
  readonly until: string;
  /** The day by which everybody was to have watched it; the first edition's where that is later, or no day was set. */
  readonly from: string;
}

/** When a program was taught, in the conference's time zone; null before its first release. */
export async function readTeaching(
  db: Queryable,
  conferenceId: string,
  { id, dueOn }: Pick<Program, 'id' | 'dueOn'>,
  timeZone: string,
): Promise<Teaching | null> {
  const { rows } = await db.query<{ at: Date | null }>(
    'SELECT min(released_at) AS at FROM training_edition WHERE conference_id = $1 AND program_id = $2',
    [conferenceId, id],
  );
  const at = rows[0]?.at;
  if (!at) return null;
  const until = dayIn(timeZone, at);
  return { until, from: dueOn !== null && dueOn > until ? dueOn : until };
}

/**
 * The duties that a program's released plays teach, by their keys in the season. An edition holds titles for everybody to
 * read; a play that is in the program still has the key itself.
 */
export async function readTaughtDuties(
  db: Queryable,
  conferenceId: string,
  program: Program,
): Promise<{ duties: ReadonlyMap<string, DutyName>; all: ReadonlyMap<string, DutyName> }> {
  const all = await readDuties(db, conferenceId, program.seasonId);
  const { rows } = await db.query<{ playId: string; title: string | null }>(
    `SELECT DISTINCT s.source ->> 'playId' AS "playId", p.play -> 'duty' ->> 'title' AS title
       FROM training_edition e
      CROSS JOIN LATERAL jsonb_array_elements(e.content -> 'plays') AS p (play)
       JOIN LATERAL jsonb_array_elements(e.sources) AS s (source) ON s.source -> 'number' = p.play -> 'number'
      WHERE e.conference_id = $1 AND e.program_id = $2`,
    [conferenceId, program.id],
  );
  const byTitle = new Map([...all.values()].map((duty) => [duty.title, duty]));
  const inside = new Map(program.plays.map(({ playId, dutyKey }) => [playId, dutyKey]));
  const duties = new Map<string, DutyName>();
  for (const { playId, title } of rows) {
    if (title === null) continue;
    const key = inside.get(playId);
    const duty = byTitle.get(title) ?? (key ? all.get(key) : undefined);
    if (duty) duties.set(duty.key, duty);
  }
  return { duties, all };
}

/** Duties that are defined otherwise in the other season: who owes them, when, or what they are. */
export async function readChangedDuties(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  otherSeasonId: string,
): Promise<ReadonlySet<string>> {
  if (seasonId === otherSeasonId) return new Set();
  const definitions = async (season: string) => {
    const { rows } = await db.query<{ key: string; definition: string }>(
      dutiesOfSeason(
        `d.key, (d.definition - ARRAY['title', 'guidance', 'source', 'weight'])::text AS definition`,
        '$1',
        '$2',
      ),
      [conferenceId, season],
    );
    return new Map(rows.map(({ key, definition }) => [key, definition]));
  };
  const [own, other] = [await definitions(seasonId), await definitions(otherSeasonId)];
  return new Set([...own].flatMap(([key, definition]) => (other.get(key) === definition ? [] : [key])));
}

/** The season of the first game after a day; null while none is scheduled. */
export async function seasonAfter(
  db: Queryable,
  conferenceId: string,
  day: string,
): Promise<{ id: string; name: string } | null> {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT s.id, s.name FROM game g
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
      WHERE g.conference_id = $1 AND (g.kickoff AT TIME ZONE v.time_zone)::date > $2::date
      ORDER BY g.kickoff LIMIT 1`,
    [conferenceId, day],
  );
  return rows[0] ?? null;
}

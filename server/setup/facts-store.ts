import type { Queryable } from '../database/transaction.ts';
import { lackingFor } from '../duties/crew-without-duty.ts';
import { compileRubric, fullCrew } from '../duties/opportunities.ts';
import { positionsOf } from '../football/crews.ts';
import type { CrewSize } from '../football/positions.ts';
import { readRubric } from '../rubric/read-rubric.ts';
import { readCrews } from '../schedule/schedule-store.ts';
import { readSteps } from '../schedule/season-steps.ts';
import type { SetupFacts } from './steps.ts';

type Counted = Pick<SetupFacts, 'venues' | 'teams' | 'officials' | 'observers'> & {
  conference: SetupFacts['conference'];
  come: number;
  invited: number;
  missing: number;
};

/** What is there of a conference and of the season that is set up (null: it has none). */
export async function readSetupFacts(
  db: Queryable,
  conferenceId: string,
  seasonId: string | null,
): Promise<SetupFacts> {
  const { rows } = await db.query<Counted>(
    `WITH working AS (
       SELECT p.id, p.password_hash IS NOT NULL AS come,
              EXISTS (SELECT FROM account_link l WHERE l.conference_id = p.conference_id AND l.person_id = p.id
                         AND l.used_at IS NULL AND l.expires_at > now()) AS invited,
              bool_or(r.role = 'official') AS official, bool_or(r.role = 'observer') AS observer
         FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND p.active AND r.role IN ('official', 'observer')
        GROUP BY p.conference_id, p.id)
     SELECT jsonb_build_object('name', c.name, 'timeZone', c.time_zone, 'code', c.code, 'crewSize', c.crew_size,
              'confirmed', c.confirmed_at IS NOT NULL, 'replyDays', c.reply_days,
              'reportDays', c.report_days) AS conference,
            (SELECT count(*)::int FROM venue WHERE conference_id = $1) AS venues,
            (SELECT count(*)::int FROM team WHERE conference_id = $1) AS teams,
            (SELECT count(*)::int FROM working WHERE official) AS officials,
            (SELECT count(*)::int FROM working WHERE observer) AS observers,
            (SELECT count(*)::int FROM working WHERE come) AS come,
            (SELECT count(*)::int FROM working WHERE invited AND NOT come) AS invited,
            (SELECT count(*)::int FROM working WHERE NOT invited AND NOT come) AS missing
       FROM conference c WHERE c.id = $1`,
    [conferenceId],
  );
  const { come, invited, missing, ...found } = rows[0]!;
  const season = seasonId === null ? null : await seasonFacts(db, conferenceId, seasonId);
  return {
    ...found,
    season: season && { ...season.season, answers: await readSteps(db, conferenceId, season.season.id) },
    rubric: season && (await rubricFacts(db, conferenceId, season.season)),
    crews: season ? await crewFacts(db, conferenceId, season.season) : { whole: 0, short: [] },
    games: season?.games ?? { all: 0, weeks: 0, withoutCrew: 0 },
    invitations: { come, invited, missing },
  };
}

type SeasonRow = Omit<NonNullable<SetupFacts['season']>, 'answers'>;

async function seasonFacts(db: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await db.query<{ season: SeasonRow; games: SetupFacts['games'] }>(
    `SELECT jsonb_build_object('id', s.id, 'name', s.name, 'crewSize', s.crew_size, 'minimumGames', s.minimum_games,
              'minimumOpportunities', s.minimum_opportunities, 'postseasonPlaces', s.postseason_places,
              'weeks', (SELECT count(*) FROM season_week w
                         WHERE w.conference_id = s.conference_id AND w.season_id = s.id)) AS season,
            (SELECT jsonb_build_object('all', count(*), 'weeks', count(DISTINCT g.week),
                      'withoutCrew', count(*) FILTER (WHERE g.crew_id IS NULL))
               FROM game g WHERE g.conference_id = s.conference_id AND g.season_id = s.id) AS games
       FROM season s WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0] ?? null;
}

async function rubricFacts(db: Queryable, conferenceId: string, { id, crewSize }: SeasonRow) {
  const rubric = await readRubric(db, conferenceId, id);
  if (rubric === undefined) return null;
  return {
    duties: rubric.duties.length,
    lacks: lackingFor(compileRubric(rubric.duties), fullCrew(crewSize as CrewSize))?.sentence,
  };
}

async function crewFacts(db: Queryable, conferenceId: string, { id, crewSize }: SeasonRow) {
  const needed = positionsOf(crewSize as CrewSize);
  const crews = await readCrews(db, conferenceId, id);
  const short = crews.filter(({ officials }) => officials.length < needed.length);
  return { whole: crews.length - short.length, short: short.map(({ name }) => name) };
}

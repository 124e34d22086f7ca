import type { Queryable } from '../../database/transaction.ts';
import { rulesSchema, weightsSchema } from '../../selection/rules.ts';
import { notFound } from '../../web/problem.ts';
import type { ChoiceMade, Selection, SelectionGame } from '../selection.ts';

type Row = Omit<Selection, 'games' | 'choices' | 'proposedAt' | 'madeAt'> & {
  proposedAt: Date | null;
  madeAt: Date;
};

/** @throws Problem 404 when the conference has no such selection. @param lock holds it until the transaction ends */
export async function readSelection(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
  lock: 'lock' | null = null,
): Promise<Selection> {
  const { rows } = await db.query<Row>(
    `SELECT s.id, s.season_id AS "seasonId", s.title, s.state, s.rules, s.weights, s.revision,
            to_char(s.answer_by, 'YYYY-MM-DD') AS "answerBy",
            to_char(s.embargo_until AT TIME ZONE c.time_zone, 'YYYY-MM-DD"T"HH24:MI') AS "embargoUntil",
            s.proposed_at AS "proposedAt", s.made_at AS "madeAt", n.state = 'closed' AS "ofClosedSeason"
       FROM selection s JOIN conference c ON c.id = s.conference_id
       JOIN season n ON n.conference_id = s.conference_id AND n.id = s.season_id
      WHERE s.conference_id = $1 AND s.id = $2 ${lock ? 'FOR UPDATE OF s' : ''}`,
    [conferenceId, selectionId],
  );
  const row = rows[0];
  if (!row) throw notFound('selection');
  const games = await db.query<SelectionGame>(
    `SELECT id, name, to_char(played_on, 'YYYY-MM-DD') AS "playedOn", kickoff, home_team_id AS "homeTeamId",
            home_name AS "homeName", visitor_team_id AS "visitorTeamId", visitor_name AS "visitorName",
            venue_id AS "venueId", place, latitude, longitude, crew_size AS "crewSize", alternates,
            whole_crew AS "wholeCrew"
       FROM selection_game WHERE conference_id = $1 AND selection_id = $2 ORDER BY played_on, kickoff, name`,
    [conferenceId, selectionId],
  );
  return {
    ...row,
    rules: rulesSchema.parse(row.rules),
    weights: weightsSchema.parse(row.weights),
    proposedAt: row.proposedAt?.toISOString() ?? null,
    madeAt: row.madeAt.toISOString(),
    games: games.rows,
    choices: await readChoices(db, conferenceId, selectionId),
  };
}

async function readChoices(db: Queryable, conferenceId: string, selectionId: string): Promise<ChoiceMade[]> {
  const { rows } = await db.query<Omit<ChoiceMade, 'chosenAt'> & { chosenAt: Date }>(
    `SELECT game_id AS "gameId", slot, position, official_id AS "officialId", reason, chosen_by AS "chosenBy",
            chosen_at AS "chosenAt"
       FROM selection_choice WHERE conference_id = $1 AND selection_id = $2 ORDER BY game_id, slot`,
    [conferenceId, selectionId],
  );
  return rows.map((row) => ({ ...row, chosenAt: row.chosenAt.toISOString() }));
}

interface SelectionLine extends Pick<Selection, 'id' | 'title' | 'state'> {
  readonly games: number;
  /** Places to fill, alternates too, and how many are chosen. */
  readonly places: number;
  readonly chosen: number;
  /** The first and last day of its games; null without any. */
  readonly from: string | null;
  readonly to: string | null;
}

/** A season's selections, the newest first. */
export async function listSelections(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<SelectionLine[]> {
  const { rows } = await db.query<SelectionLine>(
    `SELECT s.id, s.title, s.state, count(g.id)::int AS games,
            coalesce(sum(g.crew_size + g.alternates), 0)::int AS places,
            (SELECT count(*)::int FROM selection_choice c WHERE c.conference_id = $1 AND c.selection_id = s.id) AS chosen,
            to_char(min(g.played_on), 'YYYY-MM-DD') AS "from", to_char(max(g.played_on), 'YYYY-MM-DD') AS "to"
       FROM selection s
       LEFT JOIN selection_game g ON g.conference_id = s.conference_id AND g.selection_id = s.id
      WHERE s.conference_id = $1 AND s.season_id = $2
      GROUP BY s.conference_id, s.id ORDER BY s.made_at DESC, s.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

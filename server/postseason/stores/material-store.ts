import type { Queryable } from '../../database/transaction.ts';
import { positionsOf } from '../../football/crews.ts';
import type { CrewSize, Position } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { Place } from '../../planning/distance.ts';
import type { SeasonResults } from '../../results/season-results.ts';
import { openInquiryStates } from '../../schedule/open-states.ts';
import {
  type GameToFill,
  type GradedIn,
  nothingKnown,
  type OfficialToSelect,
} from '../../selection/candidate.ts';
import type { CrewOfSeason, ProposalProblem } from '../../selection/proposal-problem.ts';
import type { Selection } from '../selection.ts';
import { readFacts } from './facts-store.ts';

/** All that a selection is decided on, as it is now, with the names that pages need beside the ids. */
export interface Material {
  readonly problem: ProposalProblem;
  readonly names: ReadonlyMap<string, string>;
  readonly crewNames: ReadonlyMap<string, string>;
  /** The season's input revision that grades and ranks rest on. */
  readonly inputRevision: number;
  /** The model that ranks, and the other that is shown beside it. */
  readonly model: string;
  readonly otherModel: string;
  /** How many places "the top" has. */
  readonly top: number;
  readonly week: number | null;
}

const modelNames = { linear: 'points of each game', counts: 'misses of chances' } as const;

export async function readMaterial(
  db: Queryable,
  results: Pick<SeasonResults, 'waysOf'>,
  conferenceId: string,
  selection: Selection,
): Promise<Material> {
  const { standings, ways } = await results.waysOf(conferenceId, selection.seasonId);
  const used = standings.model.used;
  const other = used === 'linear' ? 'counts' : 'linear';
  const key = ({ personId, position }: { personId: string; position: string }) => `${personId} ${position}`;
  const otherLines = new Map(
    (ways.ways.find(({ way }) => way === other)?.lines ?? []).map((line) => [key(line), line]),
  );
  const graded = standings.lines.map(
    (line): GradedIn => ({
      officialId: line.personId,
      position: line.position,
      games: line.games,
      grade: line.adjusted && {
        grade: line.adjusted.grade,
        low: line.adjusted.low,
        high: line.adjusted.high,
      },
      rank: line.rank && { place: line.rank.place, low: line.rank.low, high: line.rank.high },
      unrankedReason: line.unrankedReason,
      chance: line.placeChance,
      otherChance: otherLines.get(key(line))?.placeChance ?? null,
    }),
  );
  const ids = [
    ...new Set([...graded.map((one) => one.officialId), ...selection.choices.map((one) => one.officialId)]),
  ];
  const crews = await readCrewsOfSeason(db, conferenceId, selection.seasonId);
  const games = await gamesToFill(db, conferenceId, selection);
  const officials = await readOfficials(db, conferenceId, selection, ids, crews, games);
  return {
    problem: {
      ...{ games, graded, crews },
      officials: officials.map(({ name: _, ...official }) => official),
      rules: selection.rules,
      weights: selection.weights,
      fixed: selection.choices.map(({ gameId, slot, position, officialId }) => ({
        ...{ gameId, slot, position, officialId },
      })),
    },
    names: new Map(officials.map(({ id, name }) => [id, name])),
    crewNames: new Map(crews.map(({ id, name }) => [id, name])),
    inputRevision: standings.inputRevision,
    model: modelNames[used],
    otherModel: modelNames[other],
    top: standings.settings.places,
    week: standings.week,
  };
}

async function gamesToFill(db: Queryable, conferenceId: string, { games }: Selection): Promise<GameToFill[]> {
  const { rows: teams } = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM team WHERE conference_id = $1',
    [conferenceId],
  );
  const { rows: venues } = await db.query<Place & { id: string }>(
    'SELECT id, latitude, longitude FROM venue WHERE conference_id = $1',
    [conferenceId],
  );
  const teamNames = new Map(teams.map(({ id, name }) => [id, name]));
  const places = new Map(venues.map(({ id, ...place }) => [id, place]));
  return games.map((game) => ({
    id: game.id,
    playedOn: game.playedOn,
    teams: [
      { id: game.homeTeamId, name: game.homeTeamId ? (teamNames.get(game.homeTeamId) ?? '') : game.homeName },
      {
        id: game.visitorTeamId,
        name: game.visitorTeamId ? (teamNames.get(game.visitorTeamId) ?? '') : game.visitorName,
      },
    ],
    place: game.venueId
      ? (places.get(game.venueId) ?? null)
      : game.latitude !== null && game.longitude !== null
        ? { latitude: game.latitude, longitude: game.longitude }
        : null,
    positions: positionsOf(game.crewSize as CrewSize),
    alternates: game.alternates,
    wholeCrew: game.wholeCrew,
  }));
}

async function readCrewsOfSeason(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<CrewOfSeason[]> {
  const { rows } = await db.query<{ id: string; name: string; position: Position; personId: string }>(
    `SELECT c.id, c.name, m.position, m.person_id AS "personId"
       FROM crew c JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
      WHERE c.conference_id = $1 AND c.season_id = $2 ORDER BY c.name, m.position`,
    [conferenceId, seasonId],
  );
  return [...groupBy(rows, ({ id }) => id)].map(([id, members]) => ({
    id,
    name: members[0]!.name,
    members: new Map(members.map(({ position, personId }) => [position, personId])),
  }));
}

async function readOfficials(
  db: Queryable,
  conferenceId: string,
  selection: Selection,
  ids: readonly string[],
  crews: readonly CrewOfSeason[],
  games: readonly GameToFill[],
): Promise<(OfficialToSelect & { name: string })[]> {
  const facts = await readFacts(db, conferenceId, selection.seasonId);
  const first = games.map(({ playedOn }) => playedOn).sort()[0] ?? null;
  const last =
    games
      .map(({ playedOn }) => playedOn)
      .sort()
      .at(-1) ?? null;
  const { rows } = await db.query<{
    id: string;
    name: string;
    active: boolean;
    latitude: number | null;
    longitude: number | null;
    ties: string[];
    gamesHere: number;
    daysElsewhere: string[];
  }>(
    `SELECT p.id, p.given_name || ' ' || p.family_name AS name, p.active, p.home_latitude AS latitude,
            p.home_longitude AS longitude,
            ARRAY(SELECT t.team_id FROM official_tie t WHERE t.conference_id = $1 AND t.person_id = p.id
                  UNION SELECT c.team_id FROM observer_conflict c
                   WHERE c.conference_id = $1 AND c.person_id = p.id AND c.team_id IS NOT NULL) AS ties,
            (SELECT count(*)::int FROM selection_offer o
               JOIN selection x ON x.conference_id = o.conference_id AND x.id = o.selection_id
               JOIN selection_game g ON g.conference_id = o.conference_id AND g.id = o.game_id
              WHERE o.conference_id = $1 AND o.official_id = p.id AND o.answer = 'accepted' AND o.selection_id <> $2
                AND x.season_id = ANY ($5::uuid[])
                AND ($4::date IS NULL OR g.played_on < $4::date)) AS "gamesHere",
            ARRAY(SELECT DISTINCT to_char(c.played_on, 'YYYY-MM-DD') FROM selection_choice c
                   WHERE c.conference_id = $1 AND c.official_id = p.id AND c.selection_id <> $2) AS "daysElsewhere"
       FROM person p WHERE p.conference_id = $1 AND p.id = ANY ($3::uuid[])
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, selection.id, ids, first, await seasonsLately(db, conferenceId, selection.seasonId)],
  );
  const worked = await lastGamesOfTeams(db, conferenceId, ids, last);
  const open = await openInquiriesAbout(db, conferenceId, ids);
  return rows.map(({ latitude, longitude, ...row }) => ({
    ...row,
    facts: facts.get(row.id)?.facts ?? nothingKnown,
    home: latitude !== null && longitude !== null ? { latitude, longitude } : null,
    crewIds: crews.filter(({ members }) => [...members.values()].includes(row.id)).map(({ id }) => id),
    workedTeam: new Map((worked.get(row.id) ?? []).map(({ teamId, day }) => [teamId, day])),
    openInquiryOf: (open.get(row.id) ?? []).map(({ teamId }) => teamId),
  }));
}

const startOf = `coalesce((SELECT min(w.first_day) FROM season_week w
                            WHERE w.conference_id = s.conference_id AND w.season_id = s.id), s.created_at::date)`;

/** The seasons in which postseason games count as lately: this one, for what was played earlier in it, and the three before. */
async function seasonsLately(db: Queryable, conferenceId: string, seasonId: string): Promise<string[]> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT s.id FROM season s
      WHERE s.conference_id = $1
        AND ${startOf} < (SELECT ${startOf} FROM season s WHERE s.conference_id = $1 AND s.id = $2)
      ORDER BY ${startOf} DESC, s.created_at DESC LIMIT 3`,
    [conferenceId, seasonId],
  );
  return [seasonId, ...rows.map(({ id }) => id)];
}

/** By official: the latest day, not after `until`, on which they worked a game of each team, in any season. */
async function lastGamesOfTeams(
  db: Queryable,
  conferenceId: string,
  ids: readonly string[],
  until: string | null,
) {
  const { rows } = await db.query<{ personId: string; teamId: string; day: string }>(
    `SELECT w.person_id AS "personId", t.id AS "teamId",
            to_char(max((g.kickoff AT TIME ZONE v.time_zone)::date), 'YYYY-MM-DD') AS day
       FROM working_crew_member w
       JOIN game g ON g.conference_id = w.conference_id AND g.id = w.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
      CROSS JOIN LATERAL (VALUES (g.home_team_id), (g.visiting_team_id)) AS t (id)
      WHERE w.conference_id = $1 AND w.person_id = ANY ($2::uuid[])
        AND ($3::date IS NULL OR (g.kickoff AT TIME ZONE v.time_zone)::date <= $3::date)
      GROUP BY w.person_id, t.id`,
    [conferenceId, ids, until],
  );
  return groupBy(rows, ({ personId }) => personId);
}

/** By official: teams with an open inquiry about a game that they worked. */
async function openInquiriesAbout(db: Queryable, conferenceId: string, ids: readonly string[]) {
  const { rows } = await db.query<{ personId: string; teamId: string }>(
    `SELECT DISTINCT w.person_id AS "personId", i.team_id AS "teamId"
       FROM inquiry i
       JOIN working_crew_member w ON w.conference_id = i.conference_id AND w.game_id = i.game_id
      WHERE i.conference_id = $1 AND w.person_id = ANY ($2::uuid[]) AND i.state IN ${openInquiryStates}`,
    [conferenceId, ids],
  );
  return groupBy(rows, ({ personId }) => personId);
}

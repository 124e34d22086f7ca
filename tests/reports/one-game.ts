import { randomUUID } from 'node:crypto';
import type { Queryable } from '../../server/database/transaction.ts';
import { type Duty, dutySchema } from '../../server/duties/duty.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import type { Play } from '../../server/football/play.ts';
import { positions } from '../../server/football/positions.ts';
import { columnsOf } from '../../server/games/play-rows.ts';

/** Owed by everybody on every scrimmage down, so that a test can mark anyone anywhere. */
export const everybodysDuty: Duty = dutySchema.parse({
  key: 'everybodys-duty',
  title: 'Everybody watches players',
  category: 'sideline and dead ball',
  expected: 'keep eyes on players',
  positions: [...positions],
  crewSizes: [4, 5, 6, 7, 8],
  allOf: ['scrimmage-down'],
  weight: 1,
  gradedAs: 'mechanics',
});

/** Owed on a free kick only, which `plainPlay` never is. */
export const freeKickDuty: Duty = dutySchema.parse({
  ...everybodysDuty,
  key: 'free-kick-duty',
  title: 'Everybody watches the kick',
  allOf: ['free-kick'],
});

/** A call on a free kick only. */
export const freeKickCall: Duty = dutySchema.parse({
  ...freeKickDuty,
  key: 'free-kick-call',
  title: 'Everybody rules on the kick',
  category: 'calls',
  gradedAs: 'call',
});

/** A call that everybody makes on every scrimmage down. */
export const everybodysCall: Duty = dutySchema.parse({
  ...everybodysDuty,
  key: 'everybodys-call',
  title: 'Everybody rules on the play',
  category: 'calls',
  gradedAs: 'call',
});

export interface OneGame {
  conferenceId: string;
  seasonId: string;
  gameId: string;
  rubricVersionId: string;
  coordinatorId: string;
  observerId: string;
  secondObserverId: string;
  /** Official at each position, by its name. */
  crew: Record<string, string>;
  playIds: string[];
}

/** A plain log of downs that carries enough facts for every position to owe something. */
export function plainPlay(number: number): Play {
  const run = number % 2 === 0;
  const base = {
    spot: 20 + (number % 60),
    quarter: Math.min(4, 1 + Math.floor(number / 42)),
    clockSeconds: 900 - (number % 42) * 21,
    down: 1 + (number % 3),
    distance: 10 - (number % 5),
    endSpot: 24 + (number % 60),
    outOfBounds: number % 7 === 0,
    playSide: number % 3 === 0 ? ('line judge side' as const) : ('head linesman side' as const),
    looseBall: 'none' as const,
    score: 'none' as const,
    turnover: 'none' as const,
    fouls: [],
  };
  return run
    ? { ...base, kind: 'run', carrier: 'other' }
    : { ...base, kind: 'pass', passResult: number % 3 === 0 ? 'incomplete' : 'complete', catchDepth: 6 };
}

/** As many plain plays. */
const plainLog = (plays: number) => Array.from({ length: plays }, (_, index) => plainPlay(index + 1));

/** A conference with one game, its crew of eight, the starting rubric, and a log of plain plays or of those given. */
export async function oneGame(client: Queryable, plays: number | readonly Play[] = 165): Promise<OneGame> {
  const conferenceId = randomUUID();
  const id = () => randomUUID();
  await client.query('INSERT INTO conference (id, slug, name) VALUES ($1, $2, $3)', [
    conferenceId,
    `c-${conferenceId.slice(0, 8)}`,
    'Test Conference',
  ]);
  const person = async (role: string, name: string) => {
    const personId = id();
    await client.query(
      `INSERT INTO person (conference_id, id, email, given_name, family_name) VALUES ($1, $2, $3, $4, $5)`,
      [conferenceId, personId, `${personId}@example.test`, 'Test', name],
    );
    await client.query('INSERT INTO person_role VALUES ($1, $2, $3)', [conferenceId, personId, role]);
    return personId;
  };
  const coordinatorId = await person('coordinator', 'Coordinator');
  const observerId = await person('observer', 'Observer');
  const secondObserverId = await person('observer', 'Other');
  const seasonId = id();
  await client.query('INSERT INTO season (conference_id, id, name) VALUES ($1, $2, $3)', [
    conferenceId,
    seasonId,
    'Season',
  ]);
  const venueId = id();
  await client.query(
    `INSERT INTO venue (conference_id, id, name, latitude, longitude, time_zone) VALUES ($1, $2, 'Field', 40, -90, 'America/Chicago')`,
    [conferenceId, venueId],
  );
  const [home, visiting] = [id(), id()];
  await client.query(
    `INSERT INTO team (conference_id, id, name, venue_id) VALUES ($1, $2, 'Home', $4), ($1, $3, 'Visitors', $4)`,
    [conferenceId, home, visiting, venueId],
  );
  const gameId = id();
  await client.query(
    `INSERT INTO game (conference_id, id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     VALUES ($1, $2, $3, 'week-1-home', 1, '2026-09-05T18:00:00Z', $4, $5, $6)`,
    [conferenceId, gameId, seasonId, home, visiting, venueId],
  );
  const crew: Record<string, string> = {};
  for (const position of positions) {
    crew[position] = await person('official', position);
    await client.query('INSERT INTO working_crew_member VALUES ($1, $2, $3, $4)', [
      conferenceId,
      gameId,
      position,
      crew[position],
    ]);
  }
  for (const observer of [observerId, secondObserverId]) {
    await client.query(
      `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer) VALUES ($1, $2, $3, 'film', 'accepted')`,
      [conferenceId, gameId, observer],
    );
  }
  const rubricVersionId = id();
  await client.query(
    'INSERT INTO rubric_version (conference_id, id, season_id, number) VALUES ($1, $2, $3, 1)',
    [conferenceId, rubricVersionId, seasonId],
  );
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT $1, $2, d->>'key', d->>'title', d->>'category', d->>'gradedAs', (d->>'weight')::float8, d
       FROM jsonb_array_elements($3::jsonb) d`,
    [
      conferenceId,
      rubricVersionId,
      JSON.stringify([...startingRubric, everybodysDuty, freeKickDuty, freeKickCall, everybodysCall]),
    ],
  );
  const log = typeof plays === 'number' ? plainLog(plays) : plays;
  const playIds = log.map(id);
  await client.query(
    `INSERT INTO play (conference_id, id, game_id, number, kind, spot, quarter, clock_seconds, down, distance, facts)
     SELECT $1, (p->>'id')::uuid, $2, (p->>'number')::int, p->>'kind', (p->>'spot')::int, (p->>'quarter')::int,
            (p->>'clock_seconds')::int, (p->>'down')::int, (p->>'distance')::int, p->'facts'
       FROM jsonb_array_elements($3::jsonb) p`,
    [
      conferenceId,
      gameId,
      JSON.stringify(
        playIds.map((playId, index) => ({
          id: playId,
          number: index + 1,
          ...columnsOf(log[index]!),
        })),
      ),
    ],
  );
  return {
    conferenceId,
    seasonId,
    gameId,
    rubricVersionId,
    coordinatorId,
    observerId,
    secondObserverId,
    crew,
    playIds,
  };
}

import { randomUUID } from 'node:crypto';
import type { Role } from '../../server/accounts/roles.ts';
import type { Queryable } from '../../server/database/transaction.ts';
import type { Position } from '../../server/football/positions.ts';
import { everybodysDuty } from '../reports/one-game.ts';
import { makeConference, makePerson } from '../support/people.ts';

/** One released report: who was seen, in how many opportunities, of which so many were not met. */
export interface MadeReport {
  game: string;
  week?: number;
  observer: string;
  lines: {
    official: string;
    position?: Position;
    opportunities: number;
    notMet: number;
    notCounted?: number;
  }[];
}

export interface MadeSeason {
  conferenceId: string;
  seasonId: string;
  /** Ids of officials and observers by the names used in the reports. */
  people: ReadonlyMap<string, string>;
}

/** A conference of its own whose season consists of these released reports, and nothing else. */
export async function madeSeason(
  db: Queryable,
  reports: readonly MadeReport[],
  settings: { minimumGames?: number; minimumOpportunities?: number; places?: number } = {},
): Promise<MadeSeason> {
  const conferenceId = await makeConference(db);
  const insert = async (table: string, row: Record<string, unknown>): Promise<string> => {
    const all: Record<string, unknown> = { conference_id: conferenceId, ...row };
    const names = Object.keys(all);
    await db.query(
      `INSERT INTO ${table} (${names.join(', ')}) VALUES (${names.map((_, at) => `$${at + 1}`).join(', ')})`,
      Object.values(all),
    );
    return row.id as string;
  };
  const people = new Map<string, string>();
  const personOf = async (name: string, role: Role) => {
    if (!people.has(name)) {
      const { personId } = await makePerson(db, conferenceId, [role], {
        givenName: role === 'official' ? 'Official' : 'Observer',
        familyName: name,
      });
      people.set(name, personId);
    }
    return people.get(name)!;
  };
  const seasonId = await insert('season', {
    id: randomUUID(),
    name: '2026',
    minimum_games: settings.minimumGames ?? 1,
    minimum_opportunities: settings.minimumOpportunities ?? 1,
    postseason_places: settings.places ?? 1,
  });
  const venue = await insert('venue', {
    id: randomUUID(),
    name: 'Field',
    latitude: 40,
    longitude: -90,
    time_zone: 'America/Chicago',
  });
  const home = await insert('team', { id: randomUUID(), name: 'Home', venue_id: venue });
  const visitors = await insert('team', { id: randomUUID(), name: 'Visitors', venue_id: venue });
  const rubric = await insert('rubric_version', { id: randomUUID(), season_id: seasonId, number: 1 });
  const { key, title, category, gradedAs, weight } = everybodysDuty;
  await insert('duty', {
    rubric_version_id: rubric,
    key,
    title,
    category,
    graded_as: gradedAs,
    weight,
    definition: JSON.stringify(everybodysDuty),
  });
  const games = new Map<string, string>();
  for (const { game, week = 1, observer, lines } of reports) {
    if (!games.has(game)) {
      const id = await insert('game', {
        id: randomUUID(),
        season_id: seasonId,
        key: game,
        week,
        kickoff: new Date(Date.UTC(2026, 8, 5 + 7 * (week - 1), 18)),
        home_team_id: home,
        visiting_team_id: visitors,
        venue_id: venue,
      });
      games.set(game, id);
    }
    const report = await insert('report', {
      id: randomUUID(),
      season_id: seasonId,
      game_id: games.get(game),
      observer_id: await personOf(observer, 'observer'),
      state: 'released',
      rubric_version_id: rubric,
      filed_at: new Date(),
      released_at: new Date(),
    });
    for (const { official, position = 'umpire', opportunities, notMet, notCounted = 0 } of lines) {
      await insert('opportunity_count', {
        report_id: report,
        person_id: await personOf(official, 'official'),
        position,
        duty_key: key,
        opportunities,
        not_met: notMet,
        not_counted: notCounted,
      });
    }
  }
  // Counts without plays: of several reports of a game the fuller one stands for it.
  await db.query(
    `INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities,
                             not_met, not_counted, model)
     SELECT DISTINCT ON (r.game_id, c.person_id) c.conference_id, r.game_id, c.person_id, c.position, c.duty_key,
            r.rubric_version_id, c.opportunities, c.not_met, c.not_counted, c.model
       FROM report r JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
      WHERE r.conference_id = $1 ORDER BY r.game_id, c.person_id, c.opportunities DESC, r.id`,
    [conferenceId],
  );
  return { conferenceId, seasonId, people };
}

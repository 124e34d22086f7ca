import createClient from 'openapi-fetch';
import type { paths } from './schema.d.ts'; // made of the API's description by the test

// A program of somebody else's, written against the types that the API's description gives: a season's games, a report opened
// and filed, the standings. What it sends is what the description shows.

type Body<Path extends '/api/games/{gameId}/reports' | '/api/reports/{reportId}/changes'> = NonNullable<
  NonNullable<paths[Path]['post']['requestBody']>['content']['application/json']
>;
/** Examples of the description, about things that are there. */
export interface Shown {
  opening: Body<'/api/games/{gameId}/reports'>;
  changes: Body<'/api/reports/{reportId}/changes'>[];
}

/** Throws with what the problem says; so each answer below is one that went well. */
function gone<Data>({ data, error }: { data?: Data; error?: { detail: string } }): Data {
  if (error !== undefined) throw new Error(error.detail);
  return data as Data;
}

export async function mainJob(
  baseUrl: string,
  tokens: { observer: string; coordinator: string },
  { opening, changes }: Shown,
) {
  const as = (token: string) =>
    createClient<paths>({ baseUrl, headers: { authorization: `Bearer ${token}` } });
  const [observer, coordinator] = [as(tokens.observer), as(tokens.coordinator)];

  const [season] = gone(await coordinator.GET('/api/seasons'));
  const inSeason = { params: { path: { seasonId: season!.id } } };
  const [game] = gone(await coordinator.GET('/api/seasons/{seasonId}/games', inSeason));

  const onGame = { params: { path: { gameId: game!.id } } };
  const { reportId } = gone(await observer.POST('/api/games/{gameId}/reports', { ...onGame, body: opening }));
  const ofReport = { params: { path: { reportId } } };
  const entry = gone(await observer.GET('/api/reports/{reportId}/entry', ofReport));
  const results = [];
  for (const body of changes) {
    const sent = body.changes.map((change) => {
      if (change.kind === 'confirm crew') return { ...change, was: entry.crew, crew: entry.crew };
      return change.kind === 'watched' ? { ...change, was: entry.report.watched } : change;
    });
    const answer = await observer.POST('/api/reports/{reportId}/changes', {
      ...ofReport,
      body: { changes: sent },
    });
    results.push(...gone(answer).results);
  }
  const filed = gone(await observer.POST('/api/reports/{reportId}/file', ofReport));
  const report = gone(await coordinator.GET('/api/reports/{reportId}', ofReport));
  const standings = gone(await coordinator.GET('/api/seasons/{seasonId}/standings', inSeason));
  return {
    reportId,
    results: results.map(({ outcome }) => outcome),
    warnings: filed.warnings.length,
    state: report.state,
    lines: standings.lines.length,
  };
}

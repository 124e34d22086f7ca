import createClient from 'openapi-fetch';
import type { paths } from './schema.d.ts'; // made of the API's description by the test

// A program of somebody else's, written against the types that the API's description gives: a season's games, a report opened
// and filed, the standings.

/** Throws with what the problem says; so each answer below is one that went well. */
function gone<Data>({ data, error }: { data?: Data; error?: { detail: string } }): Data {
  if (error !== undefined) throw new Error(error.detail);
  return data as Data;
}

export async function mainJob(baseUrl: string, tokens: { observer: string; coordinator: string }) {
  const as = (token: string) =>
    createClient<paths>({ baseUrl, headers: { authorization: `Bearer ${token}` } });
  const [observer, coordinator] = [as(tokens.observer), as(tokens.coordinator)];

  const [season] = gone(await coordinator.GET('/api/seasons'));
  const inSeason = { params: { path: { seasonId: season!.id } } };
  const [game] = gone(await coordinator.GET('/api/seasons/{seasonId}/games', inSeason));

  const onGame = { params: { path: { gameId: game!.id } } };
  const { reportId } = gone(await observer.POST('/api/games/{gameId}/reports', { ...onGame, body: {} }));
  const ofReport = { params: { path: { reportId } } };
  const entry = gone(await observer.GET('/api/reports/{reportId}/entry', ofReport));
  const change = (id: string) => ({ id, basedOn: null });
  const { results } = gone(
    await observer.POST('/api/reports/{reportId}/changes', {
      ...ofReport,
      body: {
        changes: [
          {
            id: '00000000-0000-7000-8000-000000000003',
            kind: 'confirm crew',
            was: entry.crew,
            crew: entry.crew,
          },
          {
            ...change('00000000-0000-7000-8000-000000000001'),
            kind: 'put mark',
            markId: '00000000-0000-7000-8000-000000000002',
            playId: entry.plays[0]!.playId,
            position: 'umpire',
            dutyKey: entry.duties.find(({ positions }) => positions.includes('umpire'))!.key,
            finding: 'missed',
            comment: 'Late to the ball.',
          },
        ],
      },
    }),
  );
  const filed = gone(await observer.POST('/api/reports/{reportId}/file', ofReport));
  const report = gone(await coordinator.GET('/api/reports/{reportId}', ofReport));
  const standings = gone(await coordinator.GET('/api/seasons/{seasonId}/standings', inSeason));
  return {
    results: results.map(({ outcome }) => outcome),
    warnings: filed.warnings.length,
    state: report.state,
    lines: standings.lines.length,
  };
}

import type pg from 'pg';
import { inTransaction } from '../../database/transaction.ts';
import { findPatterns, type SeasonPatterns } from '../../patterns/find-patterns.ts';
import { refreshCutCounts } from './cut-counts.ts';
import { type DutyName, readDuties, readPatternCounts } from './pattern-counts.ts';
import { type KeptPatternSettings, readPatternSettings } from './pattern-settings.ts';

/** A season's patterns as they are now, without the weights that the duties carry anyway. */
export type CurrentPatterns = Omit<SeasonPatterns, 'settings'> & {
  settings: KeptPatternSettings;
  /** The season's input revision that they rest on. */
  inputRevision: number;
};

const kind = 'patterns';
const underway = new Map<string, Promise<CurrentPatterns>>();

/**
 * The patterns of a season, never stale: kept with the revision of their input and found anew when a report is
 * released, corrected or ruled on, when the rubric's weights or the settings change. Requests that come while
 * they are being found wait for the same result.
 */
export function currentPatterns(
  pool: pg.Pool,
  conferenceId: string,
  seasonId: string,
): Promise<CurrentPatterns> {
  const key = `${conferenceId} ${seasonId}`;
  const waiting = underway.get(key);
  // Whoever joins may have caused a newer revision than the one being computed: check again afterwards.
  if (waiting) return waiting.then(() => keptOrFound(pool, conferenceId, seasonId));
  const found = keptOrFound(pool, conferenceId, seasonId).finally(() => underway.delete(key));
  underway.set(key, found);
  return found;
}

type Input = { revision: number; settings: KeptPatternSettings; duties: Map<string, DutyName> };

async function keptOrFound(pool: pg.Pool, conferenceId: string, seasonId: string): Promise<CurrentPatterns> {
  const input = await readInput(pool, conferenceId, seasonId);
  const { rows } = await pool.query<{ result: { basis: string; patterns: CurrentPatterns } }>(
    `SELECT result FROM standings_result
      WHERE conference_id = $1 AND season_id = $2 AND kind = $3 AND input_revision = $4`,
    [conferenceId, seasonId, kind, input.revision],
  );
  const kept = rows[0]?.result;
  if (kept && kept.basis === basisOf(input)) return kept.patterns;
  return find(pool, conferenceId, seasonId);
}

async function readInput(
  db: pg.Pool | pg.PoolClient,
  conferenceId: string,
  seasonId: string,
): Promise<Input> {
  const { rows } = await db.query<{ revision: string }>(
    'SELECT input_revision AS revision FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, seasonId],
  );
  return {
    revision: Number(rows[0]?.revision ?? 0),
    settings: await readPatternSettings(db, conferenceId, seasonId),
    duties: await readDuties(db, conferenceId, seasonId),
  };
}

/** What patterns rest on beside the counts: settings and weights, as text to compare. */
function basisOf({ settings, duties }: Input): string {
  const { falseDiscoveryRate, minimumOpportunities, minimumGames } = settings;
  const weights = [...duties.values()].map((duty) => `${duty.key} ${duty.weight}`);
  return [falseDiscoveryRate, minimumOpportunities, minimumGames, ...weights].join('\n');
}

async function find(pool: pg.Pool, conferenceId: string, seasonId: string): Promise<CurrentPatterns> {
  await refreshCutCounts(pool, conferenceId, seasonId);
  // One snapshot for revision, settings and counts: a release in between cannot mix into the result.
  const { input, rows } = await inTransaction(pool, async (client) => {
    await client.query('SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY');
    const input = await readInput(client, conferenceId, seasonId);
    return { input, rows: await readPatternCounts(client, conferenceId, seasonId) };
  });
  const weights = new Map([...input.duties.values()].map((duty) => [duty.key, duty.weight]));
  const found = findPatterns(rows, { ...input.settings, weights });
  const patterns: CurrentPatterns = { ...found, settings: input.settings, inputRevision: input.revision };
  await pool.query(
    `INSERT INTO standings_result (conference_id, season_id, kind, input_revision, result)
     SELECT conference_id, id, $3, $4, $5 FROM season WHERE conference_id = $1 AND id = $2
     ON CONFLICT (conference_id, season_id, kind) DO UPDATE
       SET input_revision = EXCLUDED.input_revision, result = EXCLUDED.result, computed_at = now()
     WHERE standings_result.input_revision <= EXCLUDED.input_revision`,
    [conferenceId, seasonId, kind, input.revision, JSON.stringify({ basis: basisOf(input), patterns })],
  );
  return patterns;
}

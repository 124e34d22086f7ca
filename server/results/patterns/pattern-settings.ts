import type pg from 'pg';
import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { defaultPatternSettings } from '../../patterns/settings.ts';

/** What the coordinator sets for a season's patterns. */
export const patternSettingsSchema = z.object({
  falseDiscoveryRate: z
    .number('falseDiscoveryRate must be a number such as 0.1')
    .gt(0, 'falseDiscoveryRate must be above 0')
    .lt(0.5, 'falseDiscoveryRate must be below 0.5'),
  minimumOpportunities: z
    .int('minimumOpportunities must be a whole number')
    .min(1, 'minimumOpportunities must be at least 1')
    .max(10_000, 'minimumOpportunities must be at most 10000'),
  minimumGames: z
    .int('minimumGames must be a whole number')
    .min(1, 'minimumGames must be at least 1')
    .max(30, 'minimumGames must be at most 30'),
});
export type KeptPatternSettings = z.infer<typeof patternSettingsSchema>;

const { falseDiscoveryRate, minimumOpportunities, minimumGames } = defaultPatternSettings;

/** An SQL expression of a row `s` of `season`: its settings as jsonb. */
export const patternSettingsOf = `(
  SELECT jsonb_build_object('falseDiscoveryRate', coalesce(p.false_discovery_rate, ${falseDiscoveryRate}),
                            'minimumOpportunities', coalesce(p.minimum_opportunities, ${minimumOpportunities}),
                            'minimumGames', coalesce(p.minimum_games, ${minimumGames}))
    FROM (VALUES (1)) AS one
    LEFT JOIN pattern_setting p ON p.conference_id = s.conference_id AND p.season_id = s.id)`;

export async function readPatternSettings(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  seasonId: string,
): Promise<KeptPatternSettings> {
  const kept = await prisma.patternSetting.findUnique({
    where: { conferenceId_seasonId: { conferenceId, seasonId } },
    select: { falseDiscoveryRate: true, minimumOpportunities: true, minimumGames: true },
  });
  return kept ?? { falseDiscoveryRate, minimumOpportunities, minimumGames };
}

/** Changes the settings, with an entry in the audit trail. */
export async function changePatternSettings(
  pool: pg.Pool,
  actor: PersonActing,
  seasonId: string,
  settings: KeptPatternSettings,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ before: KeptPatternSettings }>(
      `SELECT ${patternSettingsOf} AS before FROM season s WHERE s.conference_id = $1 AND s.id = $2`,
      [actor.conferenceId, seasonId],
    );
    await keep(client, actor.conferenceId, seasonId, settings);
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'pattern settings changed',
      subjectKind: 'season',
      subjectId: seasonId,
      before: rows[0]?.before,
      after: settings,
    });
  });
}

async function keep(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  settings: KeptPatternSettings,
): Promise<void> {
  await db.query(
    `INSERT INTO pattern_setting (conference_id, season_id, false_discovery_rate, minimum_opportunities, minimum_games)
     VALUES ($1, $2, $3, $4, $5)
     ON CONFLICT (conference_id, season_id) DO UPDATE
       SET false_discovery_rate = EXCLUDED.false_discovery_rate,
           minimum_opportunities = EXCLUDED.minimum_opportunities, minimum_games = EXCLUDED.minimum_games`,
    [
      conferenceId,
      seasonId,
      settings.falseDiscoveryRate,
      settings.minimumOpportunities,
      settings.minimumGames,
    ],
  );
}

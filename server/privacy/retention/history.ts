import type { Acting } from '../../accounts/acting.ts';
import type { AuditContent } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { hasSeal, noteChanged, rewriteHistory, rewriteTrail, type TrailRow } from '../taking-away.ts';
import type { Due } from './due.ts';
import { olderThan } from './parts.ts';

/**
 * Takes what went from its tables out of earlier revisions, what devices sent, and the trail.
 * @returns by entry of the trail the digest of what is left; undefined where the kind is in no history
 */
export async function outOfHistory(
  client: Queryable,
  acting: Acting,
  { kind, season }: Due,
  years: number,
): Promise<Record<string, string> | undefined> {
  if (kind === 'remarks' && season) return remarksOut(client, acting, season.id);
  if (kind !== 'absences') return undefined;
  const until = season ? null : await firstDayKept(client, acting.conferenceId, years);
  const nothing: AuditContent = { reason: null, before: null, after: null };
  return rewriteTrail(client, acting.conferenceId, (row, content) => {
    const goes = season
      ? row.subject_id === season.id && row.action === 'told when they are away'
      : row.subject_kind === 'person' && (lastDayIn(row) ?? until!) < until!;
    return goes ? nothing : content;
  });
}

async function firstDayKept(client: Queryable, conferenceId: string, years: number): Promise<string> {
  const { rows } = await client.query<{ day: string }>(`SELECT (${olderThan})::date::text AS day`, [
    conferenceId,
    years,
  ]);
  return rows[0]!.day;
}

/** The last day, YYYY-MM-DD, of the absence that an entry is about. */
function lastDayIn({ action, before, after }: TrailRow): string | undefined {
  const said = (action === 'absence added' ? after : action === 'absence removed' ? before : null) as {
    to?: unknown;
    last_day?: unknown;
  } | null;
  const day = said?.to ?? said?.last_day;
  return typeof day === 'string' ? day.slice(0, 10) : undefined;
}

/** What is written into a season, by its place in JSON. */
const words = new Set(['comment', 'note', 'text', 'reply', 'generalComment', 'returnedReason', 'reason']);

function withoutWords<Value>(value: Value): Value {
  const inValue = (part: unknown): unknown => {
    if (Array.isArray(part)) return part.map(inValue);
    if (part === null || typeof part !== 'object' || part instanceof Date) return part;
    return Object.fromEntries(
      Object.entries(part).map(([key, member]) => [
        key,
        // The digests of a seal stand under such names too.
        key === 'sealed' ? member : words.has(key) && typeof member === 'string' ? '' : inValue(member),
      ]),
    );
  };
  return inValue(value) as Value;
}

async function remarksOut(client: Queryable, acting: Acting, seasonId: string) {
  const about = await subjectsOf(client, acting.conferenceId, seasonId);
  const reports = about.get('report')!;
  await rewriteHistory(client, acting.conferenceId, withoutWords, reports);
  await noteChanged(client, acting, { marks: about.get('observation')!, reports });
  return rewriteTrail(client, acting.conferenceId, (row, content, keepSeal) =>
    about.get(row.subject_kind)?.has(row.subject_id) ? leftOf(content, keepSeal) : content,
  );
}

/** Ids of what entries of the trail can be about, by its kind. */
async function subjectsOf(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReadonlyMap<string, Set<string>>> {
  const { rows } = await db.query<{ kind: string; ids: string[] | null }>(
    `WITH r AS (SELECT id FROM report WHERE conference_id = $1 AND season_id = $2),
          g AS (SELECT id FROM game WHERE conference_id = $1 AND season_id = $2),
          o AS (SELECT t.id FROM observation t JOIN r ON r.id = t.report_id WHERE t.conference_id = $1)
     SELECT 'report' AS kind, array_agg(id::text) AS ids FROM r
     UNION ALL SELECT 'observation', array_agg(id::text) FROM o
     UNION ALL SELECT 'reply', array_agg(y.id::text) FROM reply y JOIN o ON o.id = y.observation_id WHERE y.conference_id = $1
     UNION ALL SELECT 'play', array_agg(p.id::text) FROM play p JOIN g ON g.id = p.game_id WHERE p.conference_id = $1
     UNION ALL SELECT 'observer_assignment', array_agg(a.id::text) FROM observer_assignment a JOIN g ON g.id = a.game_id WHERE a.conference_id = $1
     UNION ALL SELECT 'development_point', array_agg(id::text) FROM development_point WHERE conference_id = $1 AND season_id = $2`,
    [conferenceId, seasonId],
  );
  return new Map(rows.map(({ kind, ids }) => [kind, new Set(ids ?? [])]));
}

/** What stays of an entry about the season: who did what when, findings, states. */
function leftOf(content: AuditContent, keepSeal: boolean): AuditContent {
  const left = withoutWords({ ...content, reason: null });
  if (keepSeal || !hasSeal(left.after)) return left;
  // A comment could be guessed by the digest of its mark; the newest seal has all of them without.
  const { sealed: _sealed, ...after } = left.after;
  return { ...left, after };
}

import type { Queryable } from '../../database/transaction.ts';
import { outOfDate, seasonNow } from '../../letters/letter-lines.ts';
import { chancesKept, isLeftOut } from '../../reports/review/report-shares.ts';
import type { LookFacts } from '../coordinator-facts.ts';
import { instant, instants, listOf } from './from-json.ts';

const logs = `
  SELECT r.id, r.game_id AS "gameId", t.title AS game, g.week, g.kickoff, r.filed_at AS "filedAt", n.*
    FROM report r
    JOIN game g ON g.conference_id = $1 AND g.id = r.game_id
    JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
   CROSS JOIN LATERAL (
      SELECT ${chancesKept('n')}, (count(*) FILTER (WHERE ${isLeftOut('n')}))::int AS "leftOut"
        FROM opportunity_count n WHERE n.conference_id = $1 AND n.report_id = r.id) n
   WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state IN ('filed', 'accepted')
     AND r.counts_method IS NOT NULL AND r.filed_at IS NOT NULL`;

// The newest edition of each official's letter of a kind. New figures leave a released one as it was given; a ruling that
// changed what it says, and a newer template, are told.
const letters = `
  SELECT l.kind, l.because, count(*)::int AS count, min(p.given_name || ' ' || p.family_name) AS official,
         min(l.since) AS since
    FROM (SELECT l.person_id, l.kind, l.released_at,
                 CASE WHEN u.ruled_at IS NOT NULL THEN 'ruling'
                      WHEN l.template_version < coalesce(m.version, 0) THEN 'template' ELSE 'figures' END AS because,
                 CASE WHEN u.ruled_at IS NOT NULL THEN u.ruled_at
                      WHEN l.template_version < coalesce(m.version, 0) THEN m.made_at ELSE l.created_at END AS since
            FROM (SELECT DISTINCT ON (person_id, kind) conference_id, season_id, person_id, kind, released_at, created_at,
                         read_at, template_version, grounds, input_revision
                    FROM letter WHERE conference_id = $1 AND season_id = $2
                   ORDER BY person_id, kind, edition DESC) l
            JOIN season_now s ON true
            LEFT JOIN (SELECT kind, max(version) AS version, max(created_at) AS made_at FROM letter_template
                        WHERE conference_id = $1 GROUP BY kind) m ON m.kind = l.kind
            LEFT JOIN LATERAL (SELECT min(u.ruled_at) AS ruled_at FROM ruling u
                        JOIN reply y ON y.conference_id = $1 AND y.id = u.reply_id AND y.official_id = l.person_id
                        JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id
                        JOIN report r ON r.conference_id = $1 AND r.id = o.report_id AND r.season_id = $2
                       WHERE u.conference_id = $1 AND u.ruling <> 'stands' AND u.ruled_at > l.released_at) u
                   ON l.released_at IS NOT NULL
           WHERE u.ruled_at IS NOT NULL OR l.template_version < coalesce(m.version, 0)
              OR l.released_at IS NULL AND ${outOfDate}) l
    JOIN person p ON p.conference_id = $1 AND p.id = l.person_id
   GROUP BY l.kind, l.because`;

const points = `
  SELECT d.id, p.given_name || ' ' || p.family_name AS official, coalesce(duty.title, d.duty_key) AS duty,
         coalesce(duty.guidance, '') AS guidance,
         d.created_at AS "openedAt", coalesce(step.told, false) AS told,
         ARRAY(SELECT g.kickoff FROM game_count n
                 JOIN game g ON g.conference_id = $1 AND g.id = n.game_id AND g.season_id = $2
                 JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
                WHERE n.conference_id = $1 AND n.person_id = d.person_id AND n.position = d.position
                  AND n.duty_key = d.duty_key AND n.opportunities > 0
                  AND (g.kickoff AT TIME ZONE v.time_zone)::date > step.last
                ORDER BY g.kickoff) AS "gamesSince"
    FROM development_point d
    JOIN person p ON p.conference_id = $1 AND p.id = d.person_id
    LEFT JOIN LATERAL (SELECT max(s.happened_on) AS last, bool_or(s.kind IN ('conversation', 'letter')) AS told
                         FROM development_step s WHERE s.conference_id = $1 AND s.point_id = d.id) step ON true
    LEFT JOIN LATERAL (SELECT y.title, y.definition ->> 'guidance' AS guidance FROM duty y
                         JOIN rubric_version v ON v.conference_id = $1 AND v.id = y.rubric_version_id
                        WHERE y.conference_id = $1 AND v.season_id = $2 AND y.key = d.duty_key
                        ORDER BY v.number DESC LIMIT 1) duty ON true
   WHERE d.conference_id = $1 AND d.season_id = $2 AND d.state = 'open'`;

type LogRow = Omit<LookFacts['logs'][number], 'kept'> & LookFacts['logs'][number]['kept'];

/** What is worth the coordinator's look in a season, in one query. */
export async function readLookFacts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<LookFacts> {
  const { rows } = await db.query<Omit<LookFacts, 'seasonId' | 'logs'> & { logs: LogRow[] }>(
    `WITH ${seasonNow}
     SELECT (SELECT decided_share_least FROM conference WHERE id = $1) AS "leastShare",
            ${listOf(logs)} AS logs, ${listOf(letters)} AS letters, ${listOf(points)} AS points`,
    [conferenceId, seasonId],
  );
  const read = rows[0]!;
  return {
    seasonId,
    leastShare: read.leastShare,
    logs: read.logs.map(({ opportunities, setAside, unwatched, likely, ...log }) => ({
      ...instants(log, 'kickoff', 'filedAt'),
      kept: { opportunities, setAside, unwatched, likely },
    })),
    letters: read.letters.map((one) => instants(one, 'since')),
    points: read.points.map((one) => ({
      ...instants(one, 'openedAt'),
      gamesSince: one.gamesSince.map(instant),
    })),
  };
}

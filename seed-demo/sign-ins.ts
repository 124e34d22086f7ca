import type pg from 'pg';
import { type DemoSignIn, demoSlug } from './load.ts';

/** The demo's sign-ins as the database has them, one for each role; null where the demo season is not loaded. */
export async function readDemoSignIns(pool: pg.Pool): Promise<DemoSignIn[] | null> {
  const { rows } = await pool.query<DemoSignIn>(
    `SELECT DISTINCT ON (r.role) r.role, p.given_name || ' ' || p.family_name AS name, p.email
       FROM conference c
       JOIN person p ON p.conference_id = c.id AND p.password_hash IS NOT NULL AND p.active
       JOIN person_role r ON r.conference_id = c.id AND r.person_id = p.id
      WHERE c.slug = $1 ORDER BY r.role, p.created_at, p.email`,
    [demoSlug],
  );
  return rows.length > 0 ? rows : null;
}

/** Whether the database holds a conference other than the demo: then the demo stays out of it. */
export async function holdsAnotherConference(pool: pg.Pool): Promise<boolean> {
  const { rows } = await pool.query('SELECT FROM conference WHERE slug <> $1 LIMIT 1', [demoSlug]);
  return rows.length > 0;
}

import { randomUUID } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import type { Pool as DatabasePool } from 'pg';
import { Pool } from 'undici';
import type { Role } from '../../server/accounts/roles.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import type { Database } from '../../server/database/database.ts';
import type { OneGame } from '../reports/one-game.ts';
import { anyHostile, chance, described, hostileTexts, pick } from './hostile.ts';
import { idsOf, plantedWord, plantOther, type Signed, session, sumsOf } from './planted.ts';
import type { Program } from './program.ts';

export type RequestFigures = {
  requests: number;
  serverErrors: number;
  foreign: number;
  statuses: Record<string, number>;
  notes: string[];
};

type Route = { method: string; url: string; operation: Operation | undefined };
type Operation = {
  parameters?: Array<{ name: string; in: string; schema?: object }>;
  requestBody?: { content?: Record<string, { schema?: object }> };
};
type Who = Role | 'signed out';

const workers = 12;

/** Random and hostile requests by each role of one conference, beside another whose things they must not reach. */
export async function ask(
  program: Program,
  database: Database,
  game: OneGame,
  requests: number,
  tell: (line: string) => void,
): Promise<RequestFigures> {
  const { pool } = database;
  const other = await plantOther(pool);
  const { routes, components } = await routesOf(database);
  const fields = await formFields();
  const own = await idsOf(pool, game.conferenceId);
  const others = await idsOf(pool, other.conferenceId);
  const before = await sumsOf(pool, other.conferenceId);
  const people = await onesOf(pool, game);
  const signed = new Map<Who, Signed>();
  const signIn = async () => {
    await putBack(pool, game.conferenceId, people);
    for (const [role, personId] of people) {
      // A request under way may have ended the account just now: then this role asks signed out until the next time.
      const found = await session(pool, game.conferenceId, personId);
      if (found === undefined) signed.delete(role);
      else signed.set(role, found);
    }
  };
  await signIn();

  const http = new Pool(program.address, {
    connections: workers,
    headersTimeout: 120_000,
    bodyTimeout: 120_000,
  });
  const statuses: Record<string, number> = {};
  const found = new Map<string, number>();
  let done = 0;
  let serverErrors = 0;
  let foreign = 0;
  const note = (line: string) => found.set(line, (found.get(line) ?? 0) + 1);
  const idFor = (name: string): string => {
    if (chance(0.1)) return randomUUID();
    const ids = chance(0.3) ? others : own;
    const table = name.replace(/Ids?$/, '').replaceAll(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
    return pick(ids.get(table) ?? pick([...ids.values()]));
  };

  const once = async () => {
    const route = pick(routes);
    const who = pick<Who>(['coordinator', 'coordinator', 'observer', 'official', 'signed out']);
    const hostility = pick([0, 0, 0.05, 0.2, 0.6]);
    const sent = requestTo(route, hostility, idFor, fields, components);
    const headers = { ...sent.headers, ...(chance(0.02) ? {} : signed.get(who)) };
    const where = `${route.method} ${route.url} as ${who}`;
    try {
      const answer = await http.request({
        method: route.method as 'GET',
        path: sent.path,
        headers,
        body: sent.body ?? null,
      });
      const text = await answer.body.text();
      statuses[answer.statusCode] = (statuses[answer.statusCode] ?? 0) + 1;
      if (answer.statusCode >= 500 && answer.statusCode !== 503 && answer.statusCode !== 507) {
        serverErrors += 1;
        note(`${answer.statusCode} ${where}`);
        if ((found.get(`${answer.statusCode} ${where}`) ?? 0) === 1)
          tell(
            `${answer.statusCode} ${where}: ${sent.path.slice(0, 200)} ${String(sent.body ?? '').slice(0, 400)}`,
          );
      }
      if (text.includes(plantedWord)) {
        foreign += 1;
        note(`another's: ${where} ${sent.path.slice(0, 200)}`);
      }
    } catch (error) {
      const { code, message } = error as NodeJS.ErrnoException;
      // What is no HTTP is refused by the client itself; a server that closes on a malformed request answered.
      if (
        code === 'UND_ERR_INVALID_ARG' ||
        message.startsWith('Invalid') ||
        message === 'invalid request path'
      )
        return;
      if (program.pid === undefined) throw new Error(`The program ended: ${program.said.slice(-3000)}`);
      serverErrors += 1;
      note(`no answer (${code ?? message}) ${where}`);
    }
  };
  const worker = async () => {
    while (done < requests) {
      done += 1;
      const number = done;
      if (number % 200 === 0) await signIn();
      if (number % 2000 === 0)
        tell(`${number} of ${requests} requests, ${serverErrors} server errors, ${foreign} another's`);
      await once();
    }
  };
  await Promise.all(Array.from({ length: workers }, worker));
  await http.close();
  const after = await sumsOf(pool, other.conferenceId);
  for (const [table, sum] of after) {
    if (before.get(table) === sum) continue;
    foreign += 1;
    note(`another's rows changed: ${table}`);
  }
  return {
    requests: done,
    serverErrors,
    foreign,
    statuses,
    notes: [...found].map(([line, times]) => `${times} × ${line}`),
  };
}

/** Every route of the program as it is put together, with what the API's description says of it. */
async function routesOf(database: Database) {
  const app = await buildApp(database, readConfig({}));
  await app.ready();
  const document = app.swagger() as unknown as {
    paths: Record<string, Record<string, Operation>>;
    components?: { schemas?: Record<string, object> };
  };
  const operationOf = (method: string, url: string) =>
    document.paths[url.replaceAll(/:(\w+)/g, '{$1}')]?.[method.toLowerCase()];
  const routes: Route[] = app.routesWithPolicies
    .filter(
      ({ method, url }) => method !== 'HEAD' && !url.startsWith('/api/docs') && !url.startsWith('/assets/'),
    )
    .map(({ method, url }) => ({ method, url, operation: operationOf(method, url) }));
  await app.close();
  return { routes, components: (document.components?.schemas ?? {}) as Record<string, object> };
}

/** The names of all fields of all forms. */
async function formFields(): Promise<string[]> {
  const folder = path.join(import.meta.dirname, '../../templates/pages');
  const names = new Set<string>();
  for (const file of await readdir(folder, { recursive: true })) {
    if (!file.endsWith('.hbs')) continue;
    const text = await readFile(path.join(folder, file), 'utf8');
    for (const [, name] of text.matchAll(/\sname="([^"{}]+)"/g)) names.add(name!);
  }
  names.delete('_csrf');
  return [...names];
}

function requestTo(
  { method, url, operation }: Route,
  hostility: number,
  idFor: (name: string) => string,
  fields: readonly string[],
  components: Record<string, object>,
) {
  const path = url
    .replaceAll(/:(\w+)(\([^)]*\))?/g, (_, name) => {
      const parameter = operation?.parameters?.find((each) => each.in === 'path' && each.name === name);
      const value = chance(hostility)
        ? anyHostile()
        : parameter?.schema && !/id$/i.test(name)
          ? described(parameter.schema, name, hostility, idFor, components)
          : idFor(name);
      return encoded(value);
    })
    .replace('*', 'none');
  const query = (operation?.parameters ?? [])
    .filter((each) => each.in === 'query' && chance(0.7))
    .map(({ name, schema }) => `${name}=${encoded(described(schema, name, hostility, idFor, components))}`);
  if (chance(0.1))
    query.push(`${pick([...fields, 'next', 'version', 'page', 'week', 'season'])}=${encoded(anyHostile())}`);
  const target = query.length > 0 ? `${path}?${query.join('&')}` : path;
  const headers: Record<string, string> = chance(0.05)
    ? { accept: '*/*', 'if-none-match': 'x', range: 'bytes=0-' }
    : {};
  if (method === 'GET') return { path: target, headers, body: undefined };
  return { path: target, ...bodyTo(url, operation, hostility, idFor, fields, components, headers) };
}

function bodyTo(
  url: string,
  operation: Operation | undefined,
  hostility: number,
  idFor: (name: string) => string,
  fields: readonly string[],
  components: Record<string, object>,
  headers: Record<string, string>,
) {
  const content = operation?.requestBody?.content ?? {};
  if (url.includes('/imports') || 'text/csv' in content) {
    const cell = () => pick(['name', 'W01', '1', 'Oak, Park', '"', ...hostileTexts]);
    const lines = Array.from({ length: 4 }, () => Array.from({ length: 4 }, cell).join(','));
    const body = ['name,latitude,longitude,time zone', ...lines].join(pick(['\n', '\r\n', '\r']));
    return { headers: { ...headers, 'content-type': 'text/csv' }, body };
  }
  if (chance(hostility / 4)) {
    const type = pick([
      'application/json',
      'text/plain',
      'application/x-www-form-urlencoded',
      'multipart/form-data; boundary=x',
      'application/xml',
    ]);
    const body = pick([
      '',
      '{',
      '[',
      '['.repeat(20_000),
      '{"a":',
      'a=%zz&b[]=1&__proto__[x]=1',
      '--x\r\n\r\n',
      `"${'x'.repeat(200_000)}"`,
    ]);
    return { headers: { ...headers, 'content-type': type }, body };
  }
  const schema = content['application/json']?.schema;
  if (schema || url.startsWith('/api/')) {
    const body = JSON.stringify(described(schema, 'body', hostility, idFor, components)) ?? 'null';
    return { headers: { ...headers, 'content-type': 'application/json' }, body };
  }
  const filled = new URLSearchParams();
  for (const name of fields) {
    if (!chance(0.3)) continue;
    const plain = /id$/i.test(name)
      ? idFor(name)
      : pick(['1', '7', 'on', 'yes', 'A text', '2026-09-05', 'umpire', 'missed']);
    filled.append(name, chance(hostility) ? String(pick(hostileTexts)) : plain);
  }
  return {
    headers: { ...headers, 'content-type': 'application/x-www-form-urlencoded' },
    body: filled.toString(),
  };
}

function encoded(value: unknown): string {
  const text = (typeof value === 'string' ? value : (JSON.stringify(value) ?? 'undefined')).slice(0, 3000);
  // Half of a pair has no encoding: its bytes are sent as they would stand in broken UTF-8.
  if (/\p{Surrogate}/u.test(text)) {
    return chance(0.5) ? '%ED%A0%80' : encodeURIComponent(text.replaceAll(/\p{Surrogate}/gu, '\ufffd'));
  }
  return chance(0.03) ? pick(['%', '%zz', '%C0%AF', '%2e%2e%2f']) : encodeURIComponent(text);
}

/** One person of each role. */
async function onesOf(pool: DatabasePool, { conferenceId, coordinatorId, observerId, crew }: OneGame) {
  const people: Array<[Role, string]> = [
    ['coordinator', coordinatorId],
    ['observer', observerId],
    ['official', Object.values(crew)[0]!],
  ];
  await putBack(pool, conferenceId, people);
  return people;
}

/** They have their roles and may sign in, whatever the requests before have done to them. */
async function putBack(
  pool: DatabasePool,
  conferenceId: string,
  people: ReadonlyArray<[Role, string]>,
): Promise<void> {
  for (const [role, personId] of people) {
    await pool.query('DELETE FROM person_role WHERE conference_id = $1 AND person_id = $2 AND role <> $3', [
      conferenceId,
      personId,
      role,
    ]);
    await pool.query(
      'INSERT INTO person_role (conference_id, person_id, role) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING',
      [conferenceId, personId, role],
    );
    await pool.query('UPDATE person SET active = true WHERE conference_id = $1 AND id = $2', [
      conferenceId,
      personId,
    ]);
  }
}

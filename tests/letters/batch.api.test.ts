// @module-tag rest
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import yauzl from 'yauzl';
import { demoPassword } from '../../seed-demo/load.ts';
import { letterDocument } from '../../server/letters/documents-from-data.ts';
import type { GameReportData, LetterData } from '../../server/letters/letter-data.ts';
import type { LetterLine } from '../../server/letters/letter-lines.ts';
import { documentToHtml } from '../../server/letters/preview-html.ts';
import { formatPercent } from '../../server/letters/wording.ts';
import { releaseAccepted } from '../support/count-games.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { inSessionOf, type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let folder: string;
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
  folder = mkdtempSync(path.join(tmpdir(), 'letters-'));
});
afterAll(async () => {
  rmSync(folder, { recursive: true, force: true });
  await app.close();
  await database.drop();
});

const letters = (kind = 'end-of-season') => `/api/seasons/${database.seasonId}/letters?kind=${kind}`;

const inDays = (days: number) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

async function makeBatch(body: object = {}) {
  const started = await coordinator
    .post(`/api/seasons/${database.seasonId}/letter-batches`)
    .send({ kind: 'end-of-season', replyBy: inDays(30), ...body });
  expect(started.status, started.text).toBe(202);
  await app.letterWork.idle();
  const progress = await coordinator.get(`/api/letter-batches/${started.body.id}`);
  expect(progress.body).toMatchObject({ finished: true, failed: 0, waiting: 0 });
  return progress.body as {
    id: string;
    total: number;
    made: number;
    unchanged: number;
    jobs: { personId: string; name: string; letterId: string; state: string }[];
  };
}

const pdfOf = async (agent: SignedInAgent, url: string) => {
  const answer = await agent
    .get(url)
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks)));
    });
  return { status: answer.status, type: answer.headers['content-type'], body: answer.body as Buffer };
};

/** The PDF's words as poppler reads them, lines joined. */
const textOf = (pdf: Buffer) => pagesOf(pdf).join(' ').replace(/\s+/g, ' ');

function pagesOf(pdf: Buffer): string[] {
  const file = path.join(folder, 'letter.pdf');
  writeFileSync(file, pdf);
  return execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' }).split('\f').slice(0, -1);
}

/** As qpdf finds it. */
function expectSound(pdf: Buffer): void {
  const file = path.join(folder, 'sound.pdf');
  writeFileSync(file, pdf);
  expect(execFileSync('qpdf', ['--check', file], { encoding: 'utf8' })).toContain('No syntax or stream');
}

const figure = (value: number | null) => value!.toFixed(2);
const percent = (value: number) => formatPercent(value).replaceAll('\u00a0', ' ');

describe('a batch over the demo season', () => {
  let batch: Awaited<ReturnType<typeof makeBatch>>;
  beforeAll(async () => {
    batch = await makeBatch();
  });

  test('makes one letter for each official with a released report', async () => {
    const { rows } = await database.pool.query(
      `SELECT DISTINCT c.person_id FROM opportunity_count c JOIN report r ON r.id = c.report_id WHERE r.state = 'released'`,
    );
    expect(batch.total).toBe(rows.length);
    expect(batch.made).toBe(rows.length);
    expect(rows.length).toBeGreaterThan(60);
    const kept = await database.pool.query(
      'SELECT person_id, count(*)::int AS n FROM letter GROUP BY person_id',
    );
    expect(kept.rows.every((row) => row.n === 1)).toBe(true);
  });

  test('every letter names three duties to work on with plays and guidance, what went well, and the calls first', async () => {
    const template = (await coordinator.get('/api/letter-templates/end-of-season')).body.body as string;
    for (const { letterId } of batch.jobs) {
      const data: LetterData = (await coordinator.get(`/api/letters/${letterId}`)).body.data;
      const about = data.official.name;
      const named = data.toWorkOn.slice(0, 3);
      expect(named, about).toHaveLength(3);
      expect(data.wentWell.length, about).toBeGreaterThan(0);
      const lost = named.map(({ pointsLost }) => pointsLost);
      expect(lost, about).toEqual(lost.toSorted((a, b) => b - a));
      for (const duty of data.toWorkOn) {
        expect(duty.guidance, `${about}: ${duty.duty}`).toMatch(/\w+ \w+/);
        expect(duty.plays.length, `${about}: ${duty.duty}`).toBe(Math.min(6, duty.misses));
        expect(duty.plays.length + duty.morePlays).toBe(duty.misses);
        // A play once, whoever marked it.
        expect(new Set(duty.plays.map(({ pageUrl }) => pageUrl)).size).toBe(duty.plays.length);
      }
      // Whatever repeats beyond chance is among them, with that label.
      const beyond = data.toWorkOn.filter(({ certainty }) => certainty === 'beyond chance');
      expect(beyond, about).toHaveLength(data.development.length);

      const html = documentToHtml(letterDocument(data, template));
      const text = html.replace(/<[^>]+>/g, ' ').replace(/\s+/g, ' ');
      const order = [
        'Your calls:',
        'What to work on',
        'What went well',
        'Your grade is',
        'How your grade is made',
      ];
      const places = order.map((words) => text.indexOf(words));
      expect(Math.min(...places), about).toBeGreaterThan(0);
      expect(places, about).toEqual(places.toSorted((a, b) => a - b));
      const { right, wrong, missed } = data.calls!;
      expect(text, about).toContain(`Your calls: ${right} right, ${wrong} wrong, ${missed} missed`);
      const guided = text.match(/How to do it well\./g)?.length;
      expect(guided, about).toBe(data.toWorkOn.length);
      expect(text.match(/(Beyond|May be) chance\./g), about).toHaveLength(data.toWorkOn.length);
      expect(text).not.toMatch(/standard error|true grade|reliability|\bmodel\b/);
    }
  });

  test('every figure of the API stands in the PDF, as poppler reads it', async () => {
    // Every sixth, and all with what is beyond chance.
    for (const [index, { letterId, personId }] of batch.jobs.entries()) {
      const kept = await coordinator.get(`/api/letters/${letterId}`);
      const data: LetterData = kept.body.data;
      if (index % 6 > 0 && data.development.length === 0) continue;
      const { body } = await pdfOf(coordinator, `/api/letters/${letterId}/letter.pdf`);
      expect(createHash('sha256').update(body).digest('hex')).toBe(kept.body.sha256);
      const pages = pagesOf(body);
      expectSound(body);
      const text = pages.join(' ').replace(/\s+/g, ' ');
      const { calls, mechanics } = data;
      const expected = [
        'you worked',
        `${data.totals.opportunities} opportunities`,
        `you met ${data.totals.met} and missed ${data.totals.misses}`,
        `${calls!.right} right, ${calls!.wrong} wrong, ${calls!.missed} missed`,
        `${mechanics!.done} done, ${mechanics!.missed} missed`,
        ...(data.grade.adjusted === null
          ? []
          : [
              `Your grade is ${figure(data.grade.adjusted)} of 100`,
              `it could as well be ${figure(data.grade.low)} or ${figure(data.grade.high)}`,
              `as marked it was ${figure(data.grade.raw)}`,
            ]),
        ...[
          { name: 'Calls', kind: data.grade.calls! },
          { name: 'Mechanics', kind: data.grade.mechanics! },
        ].map(({ name, kind }) =>
          kind.reason === null
            ? `${name} ${figure(kind.raw)} ${figure(kind.adjusted)} ${figure(kind.low)} to ${figure(kind.high)}`
            : kind.reason,
        ),
        ...data.toWorkOn.flatMap((duty, place) => [
          `${place + 1}. ${duty.duty}`,
          ...(duty.misses === 0
            ? []
            : [
                duty.misses === duty.opportunities
                  ? 'Missed each of the'
                  : `Missed ${duty.misses} of ${duty.opportunities} (${percent(duty.rate)})`,
                `${percent(duty.low)} ${duty.certainty === 'beyond chance' ? 'to' : 'or'} ${percent(duty.high)}`,
                `It took ${figure(duty.pointsLost)} points off your grade`,
              ]),
          ...duty.plays.flatMap((play) =>
            play.comment ? [play.comment.replace(/\s+/g, ' ').slice(0, 12)] : [],
          ),
        ]),
        ...data.wentWell.map((one) => `met ${one.met} of ${one.opportunities} (${percent(one.rate)})`),
        ...data.weeks.flatMap(({ grade }) => (grade === null ? [] : [figure(grade)])),
      ];
      for (const figure of expected) expect(text, `${data.official.name}: ${figure}`).toContain(figure);
      for (const [at, page] of pages.entries()) {
        const lines = page.split('\n').filter((line) => line.trim());
        // The footer's two, and no page of a signature alone or with a heading at its foot.
        expect(lines.length, `${data.official.name}, page ${at + 1}`).toBeGreaterThan(7);
        const foot = lines.findLast((line) => !/Page \d+ of \d+| · End-of-season evaluation/.test(line));
        expect(foot, data.official.name).not.toMatch(
          /^(\d\. |What |Your grade$|Your reply|Week by week|How your)/,
        );
      }
      if (index % 20 > 0) continue;
      // And the figures are the season's as they are now.
      const now = await coordinator.get(
        `/api/seasons/${database.seasonId}/officials/${personId}/letter-data?kind=end-of-season`,
      );
      expect({ ...now.body, issuedOn: '', reply: null }).toEqual({ ...data, issuedOn: '', reply: null });
    }
  });

  test('names no peer', async () => {
    const people = await database.pool.query<{ id: string; name: string }>(
      `SELECT p.id, p.given_name || ' ' || p.family_name AS name FROM person p
         JOIN person_role r ON r.person_id = p.id AND r.role = 'official'`,
    );
    for (const { letterId, personId } of batch.jobs.slice(0, 6)) {
      const text = textOf((await pdfOf(coordinator, `/api/letters/${letterId}/letter.pdf`)).body);
      for (const { id, name } of people.rows) if (id !== personId) expect(text).not.toContain(name);
    }
  });

  test('comes as a ZIP of sound PDFs, one for each letter', async () => {
    const { body, type } = await pdfOf(coordinator, `/api/letter-batches/${batch.id}/letters.zip`);
    expect(type).toBe('application/zip');
    const names = await new Promise<string[]>((resolve, reject) => {
      yauzl.fromBuffer(body, { lazyEntries: true }, (error, zip) => {
        if (error) return reject(error);
        const found: string[] = [];
        zip.on('entry', (entry) => {
          found.push(entry.fileName);
          zip.readEntry();
        });
        zip.on('end', () => resolve(found));
        zip.on('error', reject);
        zip.readEntry();
      });
    });
    expect(new Set(names).size).toBe(batch.total);
    for (const name of names) expect(name).toMatch(/^[\p{L}\p{N}\p{M}-]+( \(\d\))?\.pdf$/u);
  });

  test('before release an official sees nothing; after it only their own, for good', async () => {
    const [mine, theirs] = batch.jobs as [(typeof batch.jobs)[0], (typeof batch.jobs)[0]];
    const official = await inSessionOf(app, { conferenceId: database.conferenceId, personId: mine.personId });
    expect((await official.get(`/api/letters/${mine.letterId}/letter.pdf`)).status).toBe(404);
    expect((await official.get('/api/my/letters')).body.letters).toEqual([]);

    const released = await coordinator
      .post(`/api/seasons/${database.seasonId}/letters/release`)
      .send({ kind: 'end-of-season' });
    expect(released.body).toEqual({ released: batch.total, outOfDate: 0, otherDay: 0 });

    expect((await official.get(`/api/letters/${mine.letterId}/letter.pdf`)).status).toBe(200);
    expect((await official.get(`/api/letters/${theirs.letterId}/letter.pdf`)).status).toBe(404);
    expect((await official.get(`/api/letters/${theirs.letterId}`)).status).toBe(404);
    const own = await official.get('/api/my/letters');
    expect(own.body.letters.map((letter: { id: string }) => letter.id)).toEqual([mine.letterId]);
    expect((await official.get('/my/letters')).text).toContain(mine.letterId);

    await expect(
      database.pool.query('UPDATE letter SET pdf = $1 WHERE id = $2', [Buffer.from('x'), mine.letterId]),
    ).rejects.toThrow(/released/);
    await expect(database.pool.query('DELETE FROM letter WHERE id = $1', [mine.letterId])).rejects.toThrow(
      /released/,
    );
    const trail = await database.pool.query(
      `SELECT count(*)::int AS n FROM audit_entry WHERE subject_kind = 'letter' AND action = 'released'`,
    );
    expect(trail.rows[0].n).toBe(batch.total);
  });

  test('made again without a change, nothing new', async () => {
    const again = await makeBatch();
    expect(again.unchanged).toBe(batch.total);
  });

  /** One more report, whose crew's letters change. */
  let released: string;
  test('a draft made before the latest release of a report is not released', async () => {
    const personIds = batch.jobs.slice(0, 4).map((job) => job.personId);
    const drafts = await makeBatch({ kind: 'mid-season', personIds });
    expect(drafts.made).toBe(personIds.length);
    released = await releaseAccepted(database.pool, database.conferenceId);
    const answer = await coordinator
      .post(`/api/seasons/${database.seasonId}/letters/release`)
      .send({ kind: 'mid-season' });
    expect(answer.body).toMatchObject({ released: 0, outOfDate: personIds.length });
    const { body } = await coordinator.get(letters('mid-season'));
    const drafted = (body.letters as LetterLine[]).flatMap(({ letter }) => letter ?? []);
    expect(drafted).toHaveLength(personIds.length);
    for (const letter of drafted) expect(letter).toMatchObject({ outOfDate: true, releasedAt: null });
  });

  test('the letters of the crew of that report get a new edition that says what changed', async () => {
    const worked = await database.pool.query<{ personId: string }>(
      'SELECT DISTINCT person_id AS "personId" FROM opportunity_count WHERE report_id = $1',
      [released],
    );
    const personIds = worked.rows.map(({ personId }) => personId);
    const changed = await makeBatch({ personIds });
    expect(changed.total).toBe(personIds.length);
    expect(changed.made).toBeGreaterThan(6);
    // A letter is about the position worked most: an official who worked no other has this report's figures in it.
    const crew = await database.pool.query(
      `SELECT DISTINCT person_id FROM opportunity_count here WHERE report_id = $1
          AND NOT EXISTS (SELECT FROM opportunity_count elsewhere
                           WHERE elsewhere.person_id = here.person_id AND elsewhere.position <> here.position)
        ORDER BY person_id`,
      [released],
    );
    const job = changed.jobs.find(({ personId }) => personId === crew.rows[0].person_id)!;
    const { data, edition } = (await coordinator.get(`/api/letters/${job.letterId}`)).body;
    expect(edition).toBe(2);
    expect(data.changes.join(' ')).toMatch(/Opportunities: \d+ instead of \d+\./);
    const text = textOf((await pdfOf(coordinator, `/api/letters/${job.letterId}/letter.pdf`)).body);
    expect(text).toContain('This is edition 2 of your letter.');
    // The page parts numbers from their units by spaces that do not break; the reader gives plain ones.
    for (const change of data.changes as string[]) expect(text).toContain(change.replace(/\s+/g, ' '));
  });

  test('a job that fails is tried three times, told, and can be tried again', async () => {
    await database.pool.query(
      `INSERT INTO letter_template (conference_id, kind, version, body) VALUES ($1, 'mid-season', 1, '{{#if')`,
      [database.conferenceId],
    );
    const started = await coordinator
      .post(`/api/seasons/${database.seasonId}/letter-batches`)
      .send({ kind: 'mid-season', personIds: [batch.jobs[0]!.personId] });
    await app.letterWork.idle();
    const failed = await coordinator.get(`/api/letter-batches/${started.body.id}`);
    expect(failed.body).toMatchObject({ total: 1, failed: 1, finished: true });
    expect(failed.body.jobs[0].error).toContain('Parse error on line 1');
    await database.pool.query("DELETE FROM letter_template WHERE kind = 'mid-season'");
    await coordinator.post(`/api/letter-batches/${started.body.id}/retry`).send({});
    await app.letterWork.idle();
    expect((await coordinator.get(`/api/letter-batches/${started.body.id}`)).body).toMatchObject({
      made: 1,
      failed: 0,
    });
  });
});

describe('game reports and the season book', () => {
  test('each official’s game report is one page with the API’s figures; nobody else may read it', async () => {
    const { rows } = await database.pool.query<{ gameId: string; personId: string }>(
      `SELECT DISTINCT r.game_id AS "gameId", c.person_id AS "personId" FROM report r
         JOIN opportunity_count c ON c.report_id = r.id WHERE r.state = 'released' ORDER BY 1, 2 LIMIT 8`,
    );
    for (const { gameId, personId } of rows) {
      const address = `/api/games/${gameId}/officials/${personId}/report`;
      const data: GameReportData = (await coordinator.get(address)).body;
      const { body } = await pdfOf(coordinator, `${address}.pdf`);
      expectSound(body);
      const text = textOf(body);
      expect(text).toContain('Page 1 of 1');
      expect(text).toContain(`Your grade in this game is ${figure(data.grade.value)} of 100`);
      expect(text).toContain(
        `Calls alone: ${figure(data.grade.calls!.value)}. Mechanics alone: ${figure(data.grade.mechanics!.value)}.`,
      );
      expect(text).toContain(`you met ${data.totals.met} of ${data.totals.opportunities} opportunities`);
      const { right, wrong, missed, other, opportunities } = data.calls!;
      expect(right + wrong + missed + other).toBe(opportunities);
      expect(text).toContain(`Your calls: ${right} right, ${wrong} wrong, ${missed} missed`);
      if (data.takeAlong) expect(text).toContain(`Take this along: ${data.takeAlong.duty}`);
      expect(text).toContain(data.game.title);
      const lost = data.categories.reduce((sum, category) => sum + category.lost, 0);
      expect(lost + data.grade.value!).toBeCloseTo(100, 6);
    }
    const [first, other] = rows as [(typeof rows)[0], (typeof rows)[0]];
    const official = await inSessionOf(app, {
      conferenceId: database.conferenceId,
      personId: first.personId,
    });
    expect((await official.get(`/api/games/${first.gameId}/officials/${first.personId}/report`)).status).toBe(
      200,
    );
    expect((await official.get(`/api/games/${other.gameId}/officials/${other.personId}/report`)).status).toBe(
      404,
    );
  });

  test('a game without a released report has none', async () => {
    const { rows } = await database.pool.query(
      `SELECT g.id, w.person_id FROM game g JOIN working_crew_member w ON w.game_id = g.id
        WHERE NOT EXISTS (SELECT FROM report r WHERE r.game_id = g.id AND r.state = 'released') LIMIT 1`,
    );
    const { id, person_id } = rows[0];
    expect((await coordinator.get(`/api/games/${id}/officials/${person_id}/report.pdf`)).status).toBe(404);
  });

  test('the season book has every official, contents with page numbers, and bookmarks', async () => {
    const { body } = await pdfOf(coordinator, `/api/seasons/${database.seasonId}/season-book.pdf`);
    expectSound(body);
    const text = textOf(body);
    const people = await database.pool.query<{ name: string }>(
      `SELECT DISTINCT p.given_name || ' ' || p.family_name AS name FROM person p
         JOIN opportunity_count c ON c.person_id = p.id JOIN report r ON r.id = c.report_id WHERE r.state = 'released'`,
    );
    for (const { name } of people.rows) expect(text).toContain(name);
    const raw = execFileSync(
      'qpdf',
      ['--qdf', '--object-streams=disable', path.join(folder, 'letter.pdf'), '-'],
      {
        encoding: 'latin1',
        maxBuffer: 100e6,
      },
    );
    expect(raw).toContain('/Title (Line judge)');
    expect(raw).toContain('/Outlines');
    const official = await signedInAgent(app, database.signIns.official, demoPassword);
    expect((await official.get(`/api/seasons/${database.seasonId}/season-book.pdf`)).status).toBe(403);
  });
});

describe('templates', () => {
  test('a wrong one is refused with its lines and kept nowhere; a right one is a new version', async () => {
    const wrong = await coordinator
      .put('/api/letter-templates/end-of-season')
      .send({ body: 'Dear {{official.name}},\n{{official.shoeSize}}\n{{> other}}' });
    expect(wrong.status).toBe(400);
    expect(wrong.headers['content-type']).toContain('application/problem+json');
    expect(wrong.body.errors).toEqual([
      {
        field: 'body, line 2, column 3',
        message: expect.stringContaining('there is no field “official.shoeSize”'),
      },
      { field: 'body, line 3, column 1', message: expect.stringContaining('can’t include other files') },
    ]);
    const page = await coordinator
      .post('/letter-templates/end-of-season')
      .type('form')
      .send({ body: 'Hello {{nobody}}' });
    expect(page.status).toBe(400);
    expect(page.text).toContain('there is no field “nobody”');
    expect(page.text).toContain('Hello {{nobody}}');

    const right = await coordinator
      .put('/api/letter-templates/end-of-season')
      .send({ body: 'Dear {{official.name}}, your grade is {{number grade.raw}}.' });
    expect(right.body).toEqual({ version: 1 });
    const kept = await coordinator.get('/api/letter-templates/end-of-season');
    expect(kept.body).toMatchObject({ version: 1, body: expect.stringContaining('your grade is') });
    expect(kept.body.versions.map((one: { version: number }) => one.version)).toEqual([1, 0]);
  });

  test('the preview shows a real letter as typed, and only its problems when it has some', async () => {
    const body = { body: '# Hello {{official.name}}', seasonId: database.seasonId };
    const good = await coordinator.post('/api/letter-templates/mid-season/preview').send(body);
    expect(good.body).toMatchObject({ problems: [], html: expect.stringMatching(/<h2>Hello [^<]+<\/h2>/) });
    const bad = await coordinator
      .post('/api/letter-templates/mid-season/preview')
      .send({ ...body, body: '{{no.such}}' });
    expect(bad.body.html).toBeNull();
    expect(bad.body.problems).toHaveLength(1);
    for (const kind of ['game-report', 'season-book']) {
      const answer = await coordinator
        .post(`/api/letter-templates/${kind}/preview`)
        .send({ ...body, body: (await coordinator.get(`/api/letter-templates/${kind}`)).body.body });
      expect(answer.status, answer.text).toBe(200);
      expect(answer.body.problems).toEqual([]);
    }
  });
});

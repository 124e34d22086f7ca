// @module-tag rest
import { HtmlValidate } from 'html-validate';
import { expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { demoDatabase } from '../support/demo-database.ts';
import { signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// Pages held against the HTML standard by html-validate (https://html-validate.org/, its "standard" rules).

const validator = new HtmlValidate({
  extends: ['html-validate:standard'],
  rules: {
    // A length of text in search results; nothing here is searched.
    'long-title': 'off',
    // A plot says where its mark is.
    'no-inline-style': 'off',
  },
});

/**
 * The standard leaves `details` out of no table heading (it is no sectioning content, 4.11.1); the validator counts it as
 * such.
 */
const mistaken = '<details> element is not permitted as a descendant of <th>';

/** Addresses that show the same page of something else, or another part of it. */
const kindOf = (address: string) =>
  address
    .split('?')[0]!
    .replaceAll(/[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f-]{22}/g, 'ID')
    .replaceAll(/\/\d+/g, '/N')
    .replace(/\/duties\/[a-z-]+/, '/duties/KEY')
    .replace(/\/letter-templates\/[a-z-]+/, '/letter-templates/NAME');

test('every page that links lead to is valid HTML, one of each kind, as each role', async () => {
  const database = await demoDatabase();
  const app = await testApp(database);
  // So that pages with film are among them.
  await database.pool.query(
    `INSERT INTO film (conference_id, game_id, angle, source, place, state, made_by)
     SELECT g.conference_id, g.id, angle, 'link', 'https://film.example.test/game.mp4', 'ready', p.id
       FROM game g JOIN person p ON p.conference_id = g.conference_id AND p.email = $1,
            unnest(ARRAY['Sideline', 'End zone']) angle`,
    [database.signIns.coordinator],
  );
  const seen = new Set<string>();
  const wrong: string[] = [];
  try {
    for (const email of Object.values(database.signIns)) {
      const agent = await signedInAgent(app, email, demoPassword);
      const waiting = ['/sign-in', '/desk', '/nowhere'];
      for (let address = waiting.shift(); address !== undefined; address = waiting.shift()) {
        if (seen.has(kindOf(address))) continue;
        const answer = await agent.get(address);
        if (answer.status === 302 || answer.status === 303) {
          waiting.push(answer.headers.location!);
          continue;
        }
        if (!answer.type.includes('html')) continue;
        // What one role may not see, another may.
        if (answer.status !== 403) seen.add(kindOf(address));
        const { results } = await validator.validateString(answer.text, address);
        for (const { message, ruleId, line } of results.flatMap(({ messages }) => messages))
          if (message !== mistaken) wrong.push(`${address}:${line} ${ruleId}: ${message}`);
        for (const [, link] of answer.text.matchAll(/href="(\/[^"#]*)/g)) {
          const next = link!.replaceAll('&amp;', '&');
          if (!next.startsWith('/api/') && !/\.[a-z]+$/.test(next.split('?')[0]!)) waiting.push(next);
        }
      }
    }
  } finally {
    await app.close();
  }
  expect(seen.size).toBeGreaterThan(70);
  expect(wrong).toEqual([]);
});

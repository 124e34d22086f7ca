import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { templateKinds } from '../../server/letters/letter-data.ts';
import { templateContracts } from '../../server/letters/plots.ts';
import { compileTemplate } from '../../server/letters/template.ts';
import { checkTemplate, fieldsOf } from '../../server/letters/template-check.ts';
import { exampleLetter } from './letter-example.ts';

const check = (source: string) => checkTemplate(source, templateContracts['end-of-season']);
const own = (kind: string) =>
  readFileSync(new URL(`../../templates/letters/${kind}.md.hbs`, import.meta.url), 'utf8');

describe('a template is checked against the letter’s data', () => {
  test.each(templateKinds)('our own %s has no problem', (kind) =>
    expect(checkTemplate(own(kind), templateContracts[kind])).toEqual([]),
  );

  test('an unknown field is refused with its line and what may stand there', () => {
    expect(check('Dear {{official.name}},\n\nyou are {{official.rank}}.')).toEqual([
      {
        line: 3,
        column: 11,
        message: 'there is no field “official.rank”. Here you can name name, position, crew.',
      },
    ]);
  });

  test.each([
    ['{{#each strengths}}{{official.name}}{{/each}}', 'there is no field “official.name”'],
    [
      '{{#each strengths}}{{#each plays}}{{../../official.name}}{{../duty}}{{@index}}{{/each}}{{/each}}',
      null,
    ],
    ['{{#each strengths as |strength place|}}{{strength.duty}}{{place}}{{/each}}', null],
    ['{{#each strengths as |strength|}}{{strength.dutty}}{{/each}}', 'there is no field “strength.dutty”'],
    ['{{#with official}}{{name}}{{../edition}}{{/with}}', null],
    ['{{@root.official.name}}', null],
    ['{{@index}}', 'isn’t known here'],
    ['{{official}}', 'is a group of fields'],
    ['{{strengths}}', 'is a list'],
    ['{{#each official}}{{/each}}', 'isn’t a list'],
    ['{{#if strengths.length}}x{{/if}}', null],
    ['{{plural totals.games}}', 'takes 3 values'],
    ['{{shout official.name}}', 'isn’t a known word'],
    ['{{#if (shout 1)}}x{{/if}}', 'isn’t a known word'],
    ['{{> header}}', 'can’t include other files'],
    ['{{#strengths}}{{/strengths}}', 'a block begins with'],
    ['{{#if edition}}', 'isn’t closed'],
    ['{{#if edition}}{{/each}}', "doesn't match"],
    ['![](chart:grades)', 'no plot “grades”'],
    ['![](https://example.org/logo.png)', 'no picture is fetched'],
    ['![](chart:development-{{add @root.edition 1}})', null],
    ['{{../edition}}', 'leads out of the letter'],
    ['{{constructor}}', 'there is no field'],
    ['{{official.__proto__}}', 'there is no field'],
  ])('%s', (source, wrong) => {
    const messages = check(source).map(({ message }) => message);
    if (wrong === null) expect(messages).toEqual([]);
    else expect(messages.join(' ')).toContain(wrong);
  });

  test('every field it lists can be printed from a letter', () => {
    const fields = fieldsOf(templateContracts['end-of-season'].data).filter(
      ({ path }) => !path.includes('[]'),
    );
    expect(fields.length).toBeGreaterThan(25);
    for (const { path, holds } of fields) {
      if (holds.startsWith('a list')) continue;
      expect(check(`{{${path}}}`), path).toEqual([]);
      compileTemplate(`{{${path}}}`)(exampleLetter());
    }
  });
});

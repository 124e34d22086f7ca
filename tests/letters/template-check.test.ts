import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { templateKinds } from '../../server/letters/letter-data.ts';
import { templateContracts } from '../../server/letters/plots.ts';
import { compileTemplate } from '../../server/letters/template.ts';
import { checkTemplate, fieldsOf, notTold } from '../../server/letters/template-check.ts';
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

  test('every error is told, at its own line, however many there are', () => {
    const source = [
      'Dear {{official.nam}},', // 1
      '{{#if edition}', // 2: one brace is missing
      '{{#each strengths}}{{dutty}} {{duty}}', // 3: never closed
      '{{/if}}', // 4: closes the one on line 2
      '{{number grade.raw', // 5
      '{{shout official.name}} {{percent}}', // 6
      '{{#each nothings}}{{whatever}} {{plural 1}}{{/each}}', // 7
      '![](chart:gradee) {{#unless edition}}{{official.crew}}{{/each}}', // 8
      'Fine: {{official.name}} {{! a remark }}', // 9
      '{{#each weeks}}{{week}}{{else}}none{{/each}} {{else}}', // 10
      '{{#if (equal edition 1)}}first{{else if (more edition 5)}}late{{/if}}', // 11
    ].join('\n');
    const found = check(source).map(({ line, message }) => `${line}: ${message}`);
    const expected = [
      /^1: there is no field “official.nam”/,
      /^2: “\{\{#if edition\}” isn’t closed with \}\}/,
      /^3: “\{\{#each strengths\}\}” isn’t closed/,
      /^3: there is no field “dutty”/,
      /^5: “\{\{number grade.raw” isn’t closed with \}\}/,
      /^6: “shout” isn’t a known word/,
      /^6: “percent” takes 1 value/,
      /^7: there is no field “nothings”/,
      /^7: “plural” takes 3 values/,
      /^8: there is no plot “gradee”/,
      /^8: “\{\{\/each\}\}” doesn't match “\{\{#unless edition\}\}” on line 8/,
      /^10: “\{\{else\}\}” stands in no block/,
    ];
    for (const one of expected)
      expect(
        found.some((told) => one.test(told)),
        `${one} in\n${found.join('\n')}`,
      ).toBe(true);
    expect(found).toHaveLength(expected.length);
    expect(found.filter((told) => /^(4|9|11):/.test(told))).toEqual([]);
  });

  test('a template older than what letters say can be used, and its conference is told', () => {
    const older = 'Dear {{official.name}}, {{#each development}}{{duty}}{{/each}}';
    expect(check(older)).toEqual([]);
    const told = (source: string) =>
      notTold(source, templateContracts['end-of-season']).map(({ field }) => field);
    expect(told(older)).toEqual(['toWorkOn', 'wentWell', 'calls']);
    expect(told(`${older}{{#each toWorkOn}}{{duty}}{{/each}}`)).toEqual(['wentWell', 'calls']);
    for (const kind of templateKinds) expect(notTold(own(kind), templateContracts[kind])).toEqual([]);
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

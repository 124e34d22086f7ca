import { randomUUID } from 'node:crypto';

export const pick = <Item>(items: readonly Item[]): Item => items[Math.floor(Math.random() * items.length)]!;
export const chance = (share: number) => Math.random() < share;

const long = 'x'.repeat(20_000);

/** Texts that programs stumble over. */
export const hostileTexts: readonly string[] = [
  '',
  ' ',
  '\u0000',
  'a\u0000b',
  '\ud800',
  'a\udfffb',
  '\u202eabc',
  '\ufeff',
  '😀'.repeat(50),
  'İıſK',
  "'; DROP TABLE person; --",
  "' OR '1'='1",
  '<script>alert(1)</script>',
  '{{@root}}',
  '$' + '{1+1}',
  '../../../../etc/passwd',
  '..%2f..%2f',
  '%00',
  'null',
  'undefined',
  'NaN',
  'Infinity',
  '-0',
  '1e308',
  '2147483648',
  '-2147483649',
  '9223372036854775808',
  '99999999999999999999999999',
  '0x10',
  'true',
  '[]',
  '{}',
  '__proto__',
  'constructor',
  '2026-02-30',
  '0000-00-00',
  '+275760-09-13',
  '24:61',
  'https://elsewhere.test/',
  '//elsewhere.test',
  '/.//elsewhere.test',
  'a\r\nSet-Cookie: x=y',
  '=1+1',
  '"',
  '\\',
  long,
];

const hostileValues: readonly unknown[] = [
  null,
  true,
  false,
  0,
  -1,
  0.5,
  1e308,
  -1e308,
  2147483648,
  -2147483649,
  9007199254740992,
  [],
  [[]],
  {},
  { toString: 1 },
  Array.from({ length: 300 }, () => 1),
  ...hostileTexts,
];

export const anyHostile = (): unknown => (chance(0.1) ? randomUUID() : pick(hostileValues));

type Schema = {
  $ref?: string;
  type?: string | string[];
  enum?: unknown[];
  const?: unknown;
  anyOf?: Schema[];
  oneOf?: Schema[];
  allOf?: Schema[];
  properties?: Record<string, Schema>;
  required?: string[];
  items?: Schema;
  format?: string;
  minimum?: number;
  maximum?: number;
  minLength?: number;
  maxLength?: number;
};

/**
 * A value as the schema describes it, with something hostile in place of each part by the given chance.
 * @param idFor an id for a field of that name
 */
export function described(
  schema: Schema | undefined,
  name: string,
  hostility: number,
  idFor: (name: string) => string,
  components: Record<string, Schema> = {},
  depth = 0,
): unknown {
  if (schema === undefined || depth > 8 || chance(hostility)) return anyHostile();
  if (schema.$ref) {
    return described(
      components[schema.$ref.split('/').at(-1)!],
      name,
      hostility,
      idFor,
      components,
      depth + 1,
    );
  }
  const again = (part: Schema, under = name) =>
    described(part, under, hostility, idFor, components, depth + 1);
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return pick(schema.enum);
  const either = schema.anyOf ?? schema.oneOf;
  if (either) return again(pick(either));
  if (schema.allOf) return Object.assign({}, ...schema.allOf.map((part) => again(part)));
  switch (Array.isArray(schema.type) ? pick(schema.type) : schema.type) {
    case 'object': {
      const entries = Object.entries(schema.properties ?? {}).filter(
        ([key]) => schema.required?.includes(key) || chance(0.6),
      );
      const value = Object.fromEntries(entries.map(([key, part]) => [key, again(part, key)]));
      if (chance(hostility))
        value[pick(['__proto__x', 'conferenceId', 'id', 'role', 'extra'])] = anyHostile();
      return value;
    }
    case 'array':
      return Array.from({ length: Math.floor(Math.random() * 4) }, () => again(schema.items ?? {}));
    case 'integer': {
      const [least, most] = [schema.minimum ?? -5, schema.maximum ?? 50];
      return Math.floor(least + Math.random() * Math.min(most - least + 1, 1000));
    }
    case 'number':
      return (schema.minimum ?? -5) + Math.random() * 10;
    case 'boolean':
      return chance(0.5);
    case 'null':
      return null;
    case 'string':
      if (schema.format === 'uuid' || /id$/i.test(name)) return idFor(name);
      if (schema.format === 'date') return pick(['2026-09-05', '2026-02-29', '1900-01-01']);
      if (schema.format === 'email') return `${randomUUID()}@example.test`;
      return pick(['A text', 'Zoë', 'x', 'W01', '1', 'missed']);
    default:
      return anyHostile();
  }
}

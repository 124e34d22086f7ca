/** One thing that an act changed, in words; an empty text where there was nothing. */
export interface AuditChange {
  readonly what: string;
  readonly before: string;
  readonly after: string;
}

/** Names of what an entry mentions by its id or key. */
export type AuditNames = ReadonlyMap<string, string>;

/**
 * What differs between an audit entry's `before` and `after`, field by field.
 *
 * @param whole both sides tell all there is to tell, so that a field on one side only was added or taken away; else
 *   `after` tells what was changed, and fields that only `before` has stayed as they were.
 */
export function changesBetween(
  before: unknown,
  after: unknown,
  names: AuditNames,
  { whole = false }: { whole?: boolean } = {},
): AuditChange[] {
  const old = fieldsOf(before, names);
  const now = fieldsOf(after, names);
  const told = after === null || after === undefined || whole ? [...old.keys(), ...now.keys()] : now.keys();
  return [...new Set(told)]
    .map((what) => ({ what, before: old.get(what) ?? '', after: now.get(what) ?? '' }))
    .filter((change) => change.before !== change.after);
}

/** A value's fields by name, nested ones by their path, each as text. */
function fieldsOf(value: unknown, names: AuditNames, path = ''): Map<string, string> {
  if (value === null || value === undefined) return new Map();
  if (typeof value !== 'object' || Array.isArray(value)) {
    return new Map([[path || 'value', inWords(value, names)]]);
  }
  return new Map(
    Object.entries(value).flatMap(([key, part]): [string, string][] => {
      const name = path ? `${path}, ${words(key)}` : words(key);
      return part === null ? [[name, '']] : [...fieldsOf(part, names, name)];
    }),
  );
}

function inWords(value: unknown, names: AuditNames): string {
  if (value === null || value === undefined) return '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (Array.isArray(value)) {
    return value.length === 0 ? 'none' : value.map((part) => inWords(part, names)).join('; ');
  }
  if (typeof value === 'object') {
    return [...fieldsOf(value, names)].map(([what, text]) => `${what} ${text}`).join(', ');
  }
  const text = String(value);
  const name = names.get(text);
  if (name !== undefined) return name;
  // An id or a checksum of something that has no name: its beginning tells it from another.
  return /^[0-9a-f]{8}[0-9a-f-]{24,}$/.test(text) ? `${text.slice(0, 8)}…` : text;
}

/** `minimumGames` as "minimum games"; ids are named, so "Id" at the end says nothing. */
function words(key: string): string {
  return key
    .replace(/(?<=.)Ids?$/, '')
    .replaceAll(/_|(?<=[a-z0-9])(?=[A-Z])/g, ' ')
    .toLowerCase();
}

/**
 * The one text of a JSON value (RFC 8785): members sorted by UTF-16 code units, no spaces, numbers as ECMAScript
 * writes them. Members that are undefined are left out, as JSON.stringify does.
 */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null';
  if ('toJSON' in value && typeof value.toJSON === 'function') return canonicalJson(value.toJSON());
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
  const members = Object.entries(value).filter(([, member]) => member !== undefined);
  members.sort(([one], [other]) => (one < other ? -1 : 1));
  return `{${members.map(([name, member]) => `${JSON.stringify(name)}:${canonicalJson(member)}`).join(',')}}`;
}

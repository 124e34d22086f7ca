/**
 * Where to go after signing in: a path of this server, whatever was asked for. Browsers take a path apart by the rules
 * of the WHATWG URL standard, by which "/\host", "/a/..//host" and "/%2e//host" lead to another host: what does not
 * come out of those rules as the plain path it looks like is not followed.
 */
export function nextAddress(asked: string): string {
  const here = 'https://here.invalid';
  // Parsers drop or turn around backslashes, blanks and control characters; no address of ours has one.
  if (!asked.startsWith('/') || /[\\\s\p{Cc}]/u.test(asked) || !URL.canParse(asked, here)) return '/';
  const { origin, pathname, search } = new URL(asked, here);
  const path = `${pathname}${search}`;
  if (origin !== here || pathname.startsWith('//')) return '/';
  return path;
}

/** Where a form leads once it is done: where it says (its field `next`), else to the usual place. */
export function backTo(form: { readonly next?: unknown }, usual: string): string {
  return typeof form.next === 'string' && form.next !== '' ? nextAddress(form.next) : usual;
}

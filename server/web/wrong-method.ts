import { Problem } from './problem.ts';

type Route = { readonly method: string; readonly url: string };

/**
 * What to say of an address that answers other methods only: 405, with those in Allow (RFC 9110, sections 15.5.6 and
 * 10.2.1).
 * @param address the path, without its query
 * @returns undefined where nothing is at the address, also where its own route found nothing (a file of that name)
 */
export function wrongMethod(method: string, address: string, routes: readonly Route[]): Problem | undefined {
  const answered = [
    ...new Set(routes.filter(({ url }) => pattern(url).test(address)).map((at) => at.method)),
  ];
  if (answered.length === 0 || answered.includes(method)) return undefined;
  const allow = answered.sort().join(', ');
  return new Problem(
    405,
    'Method not allowed',
    `${method} is not answered at this address; it takes ${allow}.`,
    [],
    { allow },
  );
}

/** Of a route's address: `:name` stands for anything without a slash, `*` for anything. */
function pattern(url: string): RegExp {
  const literal = url.replaceAll(/[.+?^$()[\]{}|\\]/g, '\\$&');
  return new RegExp(`^${literal.replaceAll('*', '.*').replaceAll(/:\w+/g, '[^/]+')}/?$`);
}

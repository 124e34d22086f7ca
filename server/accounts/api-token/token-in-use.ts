import { AsyncLocalStorage } from 'node:async_hooks';

/** A program's token, as the trail names it. */
export interface TokenInUse {
  readonly id: string;
  readonly name: string;
  readonly personId: string;
}

/**
 * Which token a request came with, for whoever writes into the trail on its behalf: none of them can forget to say so.
 * What a request only sets off (the outbox, letters) acts for nobody, and outlives it: `ended` then.
 */
const inUse = new AsyncLocalStorage<{ token: TokenInUse; ended: boolean }>();

/** Runs the rest of a request that came with the token. @returns what to call when the request has ended */
export function actByToken(token: TokenInUse, rest: () => void): () => void {
  const use = { token, ended: false };
  inUse.run(use, rest);
  return () => {
    use.ended = true;
  };
}

/** The token by which this person acts just now; undefined when they act themselves. */
export function tokenOf(actorId: string | null): { id: string; name: string } | undefined {
  const use = inUse.getStore();
  if (!use || use.ended || use.token.personId !== actorId) return undefined;
  return { id: use.token.id, name: use.token.name };
}

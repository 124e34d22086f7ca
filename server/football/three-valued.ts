/**
 * Three-valued logic after Kleene (1952): a play log with gaps gives *unknown*, never a guess.
 * `and` is false as soon as one part is false, `or` is true as soon as one part is true, whatever is unknown.
 */
export type Truth = true | false | 'unknown';

export function and(...parts: readonly Truth[]): Truth {
  let result: Truth = true;
  for (const part of parts) {
    if (part === false) return false;
    if (part === 'unknown') result = 'unknown';
  }
  return result;
}

export function or(...parts: readonly Truth[]): Truth {
  let result: Truth = false;
  for (const part of parts) {
    if (part === true) return true;
    if (part === 'unknown') result = 'unknown';
  }
  return result;
}

export function not(part: Truth): Truth {
  return part === 'unknown' ? 'unknown' : !part;
}

/** Is the fact one of these values? Unknown when the fact was not logged. */
export function isOneOf<T>(fact: T | undefined, ...values: readonly T[]): Truth {
  return fact === undefined ? 'unknown' : values.includes(fact);
}

export function isTrue(fact: boolean | undefined): Truth {
  return fact === undefined ? 'unknown' : fact;
}

export function atLeast(fact: number | undefined, least: number): Truth {
  return fact === undefined ? 'unknown' : fact >= least;
}

export function atMost(fact: number | undefined, most: number): Truth {
  return fact === undefined ? 'unknown' : fact <= most;
}

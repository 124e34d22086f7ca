/** A reason not to start that is worth one sentence to the person who started the program. */
export class StartupError extends Error {
  override name = 'StartupError';
}

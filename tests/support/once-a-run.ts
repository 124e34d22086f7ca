type Shared = { users: number; made: Promise<{ end(): Promise<void> }> };
// Each project of a run loads its setup files anew; only the process's global object is the same for all.
const theProcess = globalThis as { crewmarkTests?: Map<string, Shared> };
theProcess.crewmarkTests ??= new Map();
const ofThisRun = theProcess.crewmarkTests;

/** Makes something for the first project that asks, gives the others the same, and ends it after the last. */
export async function onceARun<T extends { end(): Promise<void> }>(
  name: string,
  make: () => Promise<T>,
): Promise<{ value: T; leave(): Promise<void> }> {
  const shared = ofThisRun.get(name) ?? { users: 0, made: make() };
  ofThisRun.set(name, shared);
  shared.users += 1;
  return {
    value: (await shared.made) as T,
    async leave() {
      shared.users -= 1;
      if (shared.users > 0) return;
      ofThisRun.delete(name);
      await (await shared.made).end();
    },
  };
}

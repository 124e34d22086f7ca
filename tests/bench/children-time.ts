import { readFileSync } from 'node:fs';

/** Processor seconds of this process and of those of its children that have ended (proc(5): fields 14 to 17, in hundredths). */
const processorSeconds = (): number => {
  const fields = readFileSync('/proc/self/stat', 'utf8').split(') ')[1]!.split(' ');
  return fields.slice(11, 15).reduce((sum, field) => sum + Number(field), 0) / 100;
};

/** Seconds by the clock, and of processors by this process and whatever it starts and waits for. */
export async function measuredWithChildren(
  work: () => Promise<unknown>,
): Promise<{ wall: number; processor: number }> {
  const [began, before] = [performance.now(), processorSeconds()];
  await work();
  return { wall: (performance.now() - began) / 1000, processor: processorSeconds() - before };
}

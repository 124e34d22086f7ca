import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import type { Reporter, TestModule } from 'vitest/node';

const TICKS_A_SECOND = 100; // what Linux counts in for everybody, whatever the kernel itself does

/**
 * Processor seconds of each test file with all that it sets to work: programs, PostgreSQL, Chromium. True with one
 * worker only: `WORKERS=1 npx vitest run --reporter ./tests/support/cpu-per-file.ts`. Linux only.
 * COST_FILE=file.json keeps them.
 */
export default class CpuPerFile implements Reporter {
  private readonly seconds: { project: string; file: string; cpu: number; wall: number }[] = [];
  private before = 0;
  private began = 0;

  onTestRunStart() {
    this.before = spentByRun();
    this.began = performance.now();
    setInterval(spentByRun, 1000).unref();
  }

  onTestModuleEnd(module: TestModule) {
    const now = spentByRun();
    const cpu = now - this.before;
    this.before = now;
    const wall = (performance.now() - this.began) / 1000;
    this.began = performance.now();
    this.seconds.push({ project: module.project.name, file: module.relativeModuleId, cpu, wall });
    console.log(
      `${cpu.toFixed(1).padStart(7)} s of ${wall.toFixed(1).padStart(6)} s  ${module.state()}  ${module.project.name} ${module.relativeModuleId}`,
    );
    for (const { message } of module.errors()) console.log(`  FAILED ${message}`);
    for (const test of module.children.allTests('failed'))
      console.log(`  FAILED ${test.fullName}\n${test.result().errors?.[0]?.stack}`);
    if (process.env.COST_FILE) writeFileSync(process.env.COST_FILE, JSON.stringify(this.seconds));
  }

  onTestRunEnd() {
    const sums = new Map<string, number>();
    for (const { project, cpu } of this.seconds) sums.set(project, (sums.get(project) ?? 0) + cpu);
    for (const [project, cpu] of sums) console.log(`${cpu.toFixed(1).padStart(7)} s  ${project}`);
    console.log(`${spentByRun().toFixed(1).padStart(7)} s  the run with its beginning and end`);
  }
}

/**
 * Of this process, all below it, and all that the run started apart. A process that ended counts with its parent; one
 * without a parent of this run (a database server of its own) as it was last seen, and so do those that Chromium's first
 * starts, which leave nothing to a parent.
 */
function spentByRun(): number {
  const all = new Map<number, { parent: number; ticks: number; begun: string; isChromium: boolean }>();
  /** Chromium's first is a child of the run like any other and counts with its parent once it ends. */
  const leavesNothing = ({ parent, isChromium }: { parent: number; isChromium: boolean }) =>
    isChromium && all.get(parent)?.isChromium === true;
  for (const pid of readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .map(Number)) {
    const stat = ofProcess(pid, 'stat');
    if (!stat) continue;
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    const isChromium = stat.includes('(chrom');
    const ticks = fields.slice(11, isChromium ? 13 : 15).reduce((sum, field) => sum + Number(field), 0);
    all.set(pid, { parent: Number(fields[1]), ticks, begun: fields[19]!, isChromium });
  }
  const marked = `CREWMARK_TEST_RUN=${process.env.CREWMARK_TEST_RUN}`;
  const isOfRun = new Set([process.pid]);
  const reached = (pid: number): boolean => {
    const parent = all.get(pid)?.parent;
    if (!isOfRun.has(pid) && parent !== undefined && reached(parent)) isOfRun.add(pid);
    return isOfRun.has(pid);
  };
  const ofThoseApart = new Map<string, number>();
  let ticks = 0;
  for (const [pid, its] of all) {
    if (reached(pid) && leavesNothing(its)) apart.set(`${pid} ${its.begun}`, its.ticks);
    else if (reached(pid)) ticks += its.ticks;
    else if (isMarked(pid)) {
      let first = pid;
      while (isMarked(all.get(first)!.parent)) first = all.get(first)!.parent;
      const name = `${first} ${all.get(first)!.begun}`;
      ofThoseApart.set(name, (ofThoseApart.get(name) ?? 0) + its.ticks);
    }
  }
  for (const [name, its] of ofThoseApart) apart.set(name, its);
  for (const its of apart.values()) ticks += its;
  return ticks / TICKS_A_SECOND;

  function isMarked(pid: number): boolean {
    return all.has(pid) && ofProcess(pid, 'environ').split('\0').includes(marked);
  }
}

/** Ticks of each that stands at the head of what was started apart, with all below it. */
const apart = new Map<string, number>();

function ofProcess(pid: number, what: 'stat' | 'environ'): string {
  try {
    return readFileSync(`/proc/${pid}/${what}`, 'utf8');
  } catch {
    return ''; // gone since, or somebody else's
  }
}

import { type ChildProcess, spawn } from 'node:child_process';
import { ownPort } from '../../support/own-port.ts';
import { program } from '../../support/program.ts';

/** The real server in a process of its own, which a test may kill and start again at the same address. */
export class ServerProcess {
  private child: ChildProcess | undefined;
  private constructor(
    readonly port: number,
    private readonly databaseUrl: string,
    private readonly settings: Readonly<Record<string, string>>,
  ) {}

  /** @param settings of the server, beside its address and database */
  static async start(
    databaseUrl: string,
    settings: Readonly<Record<string, string>> = {},
  ): Promise<ServerProcess> {
    for (let tries = 1; ; tries++) {
      const server = new ServerProcess(await ownPort(), databaseUrl, settings);
      try {
        await server.start();
        return server;
      } catch (error) {
        await server.kill();
        if (tries === 5 || !String(error).includes('is taken')) throw error;
      }
    }
  }

  get address(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  async start(): Promise<void> {
    const child = spawn(process.execPath, program('server/start.ts'), {
      env: {
        ...process.env,
        ...this.settings,
        PORT: String(this.port),
        HOST: '127.0.0.1',
        DATABASE_URL: this.databaseUrl,
        DEMO: 'off',
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child = child;
    let said = '';
    child.stderr!.on('data', (data) => {
      said += data;
    });
    child.stdout!.on('data', (data) => {
      said += data;
    });
    for (const deadline = Date.now() + 300_000; Date.now() < deadline; ) {
      if (child.exitCode !== null || child.signalCode) throw new Error(`The server ended: ${said}`);
      if (said.includes('ready at ')) return;
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    throw new Error(`The server did not become ready: ${said}`);
  }

  /** As a power cut does it: no goodbye. */
  async kill(): Promise<void> {
    const child = this.child;
    if (!child || child.exitCode !== null || child.signalCode) return;
    const gone = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await gone;
    this.child = undefined;
  }
}

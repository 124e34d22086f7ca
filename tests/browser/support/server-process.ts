import { type ChildProcess, spawn } from 'node:child_process';
import { createServer } from 'node:net';

/** The real server in a process of its own, which a test may kill and start again at the same address. */
export class ServerProcess {
  private child: ChildProcess | undefined;
  private constructor(
    readonly port: number,
    private readonly databaseUrl: string,
  ) {}

  static async start(databaseUrl: string): Promise<ServerProcess> {
    const server = new ServerProcess(await freePort(), databaseUrl);
    await server.start();
    return server;
  }

  get address(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  async start(): Promise<void> {
    const child = spawn(process.execPath, ['--import', 'tsx', 'server/start.ts'], {
      env: {
        ...process.env,
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
    for (let tries = 0; tries < 300; tries++) {
      if (child.exitCode !== null) throw new Error(`The server ended: ${said}`);
      const ready = await fetch(`${this.address}/ready`).then(
        (answer) => answer.ok,
        () => false,
      );
      if (ready) return;
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    throw new Error(`The server did not become ready: ${said}`);
  }

  /** As a power cut does it: no goodbye. */
  async kill(): Promise<void> {
    const child = this.child;
    if (!child || child.exitCode !== null) return;
    const gone = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await gone;
    this.child = undefined;
  }
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address() as { port: number };
      server.close(() => resolve(port));
    });
  });
}

/**
 * The scikit-image peer as a child process that lives through the bench (peer.py). It tells its own processor time.
 * `EBBLINE_PYTHON` names another Python.
 */
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

export const ways = ['threshold', 'chan-vese', 'walker'] as const;
export type Way = (typeof ways)[number];

export interface Peer {
  readonly version: string;
  read(folder: string): Promise<void>;
  volume(folder: string, way: Way): Promise<{ readonly volumeMl: number; readonly cpuMs: number }>;
  /** Takes a field of float64 from a file and gives its contours and their sums. */
  field(request: {
    readonly path: string;
    readonly width: number;
    readonly height: number;
    readonly level: number;
    readonly about: number;
  }): Promise<{
    readonly contours: readonly (readonly (readonly [number, number])[])[];
    readonly area: number;
    readonly moment: number;
  }>;
  /** Processor time of contours and sums of that field, ms. */
  contour(request: {
    readonly level: number;
    readonly about: number;
    readonly times: number;
  }): Promise<number>;
  close(): void;
}

export const howToInstall =
  'peer missing: no Python with scikit-image was found. Install it ("apt install python3-skimage", or "pip install scikit-image"), or name a Python that has it by EBBLINE_PYTHON.';

/** The peer, or nothing when no Python here has it. */
export async function startPeer(): Promise<Peer | undefined> {
  const named = process.env['EBBLINE_PYTHON'];
  // A distribution's own Python has its packages also where another one comes first on the path.
  const python = (named === undefined ? ['/usr/bin/python3', 'python3'] : [named]).find(
    (one) => spawnSync(one, ['-c', 'import skimage'], { stdio: 'ignore', timeout: 60_000 }).status === 0,
  );
  if (python === undefined) return undefined;
  const child = spawn(python, [fileURLToPath(new URL('./peer.py', import.meta.url))], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const answer = async <Answer>(): Promise<Answer> => {
    const line = await lines.next();
    if (line.done === true) throw new Error('the scikit-image peer ended early');
    return JSON.parse(line.value) as Answer;
  };
  const ask = async <Answer>(request: object): Promise<Answer> => {
    if (!child.stdin.write(`${JSON.stringify(request)}\n`)) await once(child.stdin, 'drain');
    return answer<Answer>();
  };
  const { version } = await answer<{ version: string }>();
  return {
    version,
    read: async (folder) => void (await ask({ do: 'read', folder })),
    volume: (folder, way) => ask({ do: 'volume', folder, way }),
    field: (request) => ask({ do: 'field', ...request }),
    contour: async (request) => (await ask<{ cpuMs: number }>({ do: 'contours', ...request })).cpuMs,
    close: () => child.stdin.end(),
  };
}

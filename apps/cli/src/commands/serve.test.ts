// Proves     `serve` and `token` as scripts see them: lines, exit codes, refusals; a printed token opens a running server
// Published  none; the contract is the command line's own
// Tolerance  exact
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-cli-serve-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

// A program of the two verbs alone, so that this room is proved without the others.
const program = join(folder, 'program.ts');
writeFileSync(
  program,
  `import { Command } from ${JSON.stringify(import.meta.resolve('commander'))};
   import { serveCommand } from ${JSON.stringify(new URL('./serve.ts', import.meta.url).href)};
   import { tokenCommand } from ${JSON.stringify(new URL('./token.ts', import.meta.url).href)};
   await new Command('ebbline').addCommand(serveCommand()).addCommand(tokenCommand()).parseAsync();`,
);
const env = { PATH: process.env['PATH'], EBBLINE_LOG: 'error' };
const run = (...words: string[]) => {
  const { status, stdout, stderr } = spawnSync(process.execPath, [program, ...words], {
    env,
    encoding: 'utf8',
    timeout: 20_000,
  });
  return { status, stdout, stderr };
};

describe('serve', () => {
  it('says honestly that a database server and the listeners come later, and answers 2', () => {
    for (const option of [
      ['--database', 'postgres://x'],
      ['--dicom-port', '104'],
    ]) {
      const { status, stdout, stderr } = run('serve', '--data', folder, ...option);
      expect([status, stdout]).toEqual([2, '']);
      expect(stderr).toContain(`${option[0]} comes with a later release`);
    }
  });

  it('answers 2 to an option that is none and to a port that is none', () => {
    expect(run('serve', '--colour', 'blue').status).toBe(2);
    const { status, stderr } = run('serve', '--data', folder, '--port', '70000');
    expect([status, stderr.includes('server/config')]).toEqual([2, true]);
  });

  it('prints one line when it answers, lets in a machine with a printed token, and stops with 0', async () => {
    const child = spawn(process.execPath, [program, 'serve', '--demo', '--data', folder, '--port', '0'], {
      env,
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
    let text = '';
    await new Promise<void>((resolve) => {
      child.stdout.on('data', (part: Buffer) => {
        text += part.toString();
        if (text.includes('\n')) resolve();
      });
      child.on('close', () => resolve());
    });
    const address = /^Ebbline is ready at (http:\/\/\S+)\n$/.exec(text)?.[1];
    expect(address).toBeDefined();
    const printed = run('token', '--role', 'integration', '--days', '1', '--demo', '--data', folder);
    expect(printed.status).toBe(0);
    const answer = await fetch(`${address}/api/entries?limit=1`, {
      headers: { authorization: `Bearer ${printed.stdout.trim()}` },
    });
    expect(answer.status).toBe(200);
    child.kill('SIGTERM');
    expect(await ended).toBe(0);
    expect(text.split('\n')).toHaveLength(2);
  });
});

describe('token', () => {
  it('answers 2 to a role, a number of days or a database that it cannot take', () => {
    expect(run('token').status).toBe(2);
    expect(run('token', '--role', 'captain', '--data', folder)).toMatchObject({ status: 2, stdout: '' });
    expect(run('token', '--role', 'integration', '--days', '0', '--data', folder)).toMatchObject({
      status: 2,
      stdout: '',
    });
    expect(run('token', '--role', 'integration', '--database', 'postgres://x')).toMatchObject({
      status: 2,
      stdout: '',
    });
  });

  it('prints one JSON value when asked', () => {
    const { status, stdout } = run(
      'token',
      '--role',
      'integration',
      '--days',
      '2',
      '--data',
      folder,
      '--json',
    );
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toEqual({
      token: expect.stringMatching(/^ebb_/),
      role: 'integration',
      days: 2,
    });
  });
});

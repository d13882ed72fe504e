// What is too long for every test run: every ownership history minute by minute, minutes of damaged files, a thousand kills, ten thousand power cuts, twenty thousand made-up histories.
import { spawnSync } from 'node:child_process';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const result = spawnSync('npx', ['vitest', 'run', '--reporter=default', ...process.argv.slice(2)], {
  cwd: root,
  stdio: 'inherit',
  env: { ...process.env, EBBLINE_LONG: '1', TZ: 'UTC' },
});
process.exit(result.status ?? 1);

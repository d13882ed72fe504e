// Traces hazards to controls to tests, both ways.
//
//   node scripts/check-hazards.mjs                 the trace, in a second
//   node scripts/check-hazards.mjs --switch-off    also switches each control off and demands that its tests fail
//   node scripts/check-hazards.mjs --switch-off H5-future ...    only these
//   --json                                         the trace for the safety report
import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { filesUnder, finish, read, root } from './shared/files.mjs';
import { readYaml } from './shared/read-yaml.mjs';

// The pinned runtime, when it is installed; else the one that runs this.
const pinned = join(root, 'node_modules/.bin/node');
const runtime = existsSync(pinned) ? pinned : process.execPath;

const faults = [];
const parts = process.argv.slice(2);
const only = new Set(parts.filter((part) => !part.startsWith('--')));

// --- what the hazard files say -------------------------------------------------------------------------------
const hazards = [];
for (const path of filesUnder(['docs/hazards'], /^H.*\.yaml$/)) {
  let hazard;
  try {
    hazard = readYaml(read(path));
  } catch (error) {
    faults.push(`${path}: ${error.message}`);
    continue;
  }
  hazards.push({ ...hazard, path });
  const missing = [
    'id',
    'hazard',
    'causes',
    'harm',
    'severity',
    'likelihood',
    'controls',
    'owner',
    'state',
  ].filter((name) => hazard[name] === undefined);
  if (missing.length > 0) faults.push(`${path}: no ${missing.join(', ')}`);
  for (const [name, value] of [
    ['severity', hazard.severity],
    ['likelihood before', hazard.likelihood?.before],
    ['likelihood after', hazard.likelihood?.after],
  ]) {
    if (!Number.isInteger(value) || value < 1 || value > 5)
      faults.push(`${path}: ${name} is ${value}, should be 1 to 5`);
  }
  if (hazard.likelihood?.after > hazard.likelihood?.before)
    faults.push(`${path}: likelier after its controls than before`);
  if (!['open', 'controlled', 'accepted'].includes(hazard.state))
    faults.push(`${path}: state is ${hazard.state}; should be open, controlled or accepted`);
  const score = hazard.severity * (hazard.likelihood?.before ?? 0);
  const controls = hazard.controls ?? [];
  if (score >= 12 && controls.length > 0 && controls.every((control) => control.kind === 'information'))
    faults.push(`${path}: scores ${score} and has only information against it`);
  if (hazard.state === 'controlled' && controls.length === 0)
    faults.push(`${path}: called controlled without a control`);
}
const controls = hazards.flatMap((hazard) =>
  (hazard.controls ?? []).map((control) => ({ ...control, hazard: hazard.id, path: hazard.path })),
);
const known = new Map();
for (const control of controls) {
  if (known.has(control.id))
    faults.push(`${control.path}: ${control.id} stands twice (also in ${known.get(control.id).path})`);
  known.set(control.id, control);
}

// --- what the code and the tests say -------------------------------------------------------------------------
const isTest = (path) =>
  /\.(test|contract)\.tsx?$/.test(path) || path.includes('/testing/') || path.includes('/e2e/');
const sources = filesUnder(['packages', 'apps'], /\.tsx?$/);
const asked = new Map();
for (const path of sources.filter((one) => !isTest(one) && !one.endsWith('quantity/control.ts'))) {
  for (const match of read(path).matchAll(/controlIsOn\(\s*['"`]([^'"`]+)['"`]\s*,?\s*\)/g))
    asked.set(match[1], [...(asked.get(match[1]) ?? []), path]);
}
for (const [id, paths] of asked)
  if (!known.has(id)) faults.push(`${paths[0]} asks for the control ${id}, which stands in no hazard file`);

const tagged = new Map();
for (const path of sources.filter(isTest)) {
  for (const match of read(path).matchAll(
    /\b(?:it|test)(?:\.\w+)*(?:\((?:[^()]|\([^()]*\))*\))?\(\s*(['"`])((?:(?!\1).)*?)\1/gs,
  )) {
    for (const tag of match[2].matchAll(/\[([A-Za-z][A-Za-z0-9-]*)\]/g))
      tagged.set(tag[1], [...(tagged.get(tag[1]) ?? []), path]);
  }
}
for (const [id, paths] of tagged)
  if (!known.has(id)) faults.push(`${paths[0]} has a test for [${id}], which stands in no hazard file`);

const kinds = ['design', 'guard', 'information'];
for (const control of controls) {
  const say = (what) => faults.push(`${control.path}, ${control.id}: ${what}`);
  if (!kinds.includes(control.kind)) say(`kind is ${control.kind}; should be ${kinds.join(', ')}`);
  const codes = [control.code].flat().filter(Boolean);
  if (codes.length === 0) say('names no code');
  for (const code of codes) if (!existsSync(join(root, code))) say(`${code} is not there`);
  // A guard asks by its own name, or its file keeps a table of guards and asks for each in turn.
  const inTable = codes.some(
    (code) =>
      existsSync(join(root, code)) &&
      /controlIsOn\(/.test(read(code)) &&
      read(code).includes(`'${control.id}'`),
  );
  if (!asked.has(control.id) && !inTable) say('no code asks for it: controlIsOn is missing');
  if ((control.tests ?? []).length === 0) say('has no test');
  for (const test of control.tests ?? []) {
    if (!existsSync(join(root, test.file))) say(`${test.file} is not there`);
    else if (!read(test.file).replaceAll("\\'", "'").includes(test.name))
      say(`${test.file} has no test "${test.name}"`);
    else if (!test.name.includes(`[${control.id}]`))
      say(`the test "${test.name}" does not carry [${control.id}]`);
  }
}

// --- the tests fail when the control is off ------------------------------------------------------------------
/** The test files that import a suite, by themselves or as part of another suite. */
function runnersOf(suite) {
  const name = suite.split('/').at(-1);
  return filesUnder([suite.split('/').slice(0, 2).join('/')], /\.(test|contract)\.tsx?$/)
    .filter((path) => read(path).includes(`/${name}'`))
    .flatMap((path) => (path.endsWith('.contract.ts') ? runnersOf(path) : [path]));
}

/** Runs the tests whose names carry one of the ids, with one control off or none, and gives the state of each. */
function run(ids, files, off) {
  const folder = mkdtempSync(join(tmpdir(), 'hazards-'));
  const report = join(folder, 'report.json');
  return new Promise((resolve) => {
    const child = spawn(
      runtime,
      [
        join(root, 'node_modules/vitest/vitest.mjs'),
        'run',
        ...files,
        '--testNamePattern',
        `\\[(${ids.join('|')})\\]`,
        '--reporter=json',
        `--outputFile=${report}`,
        '--maxWorkers=1',
      ],
      {
        cwd: root,
        env: { ...process.env, EBBLINE_CONTROL_OFF: off },
        stdio: ['ignore', 'ignore', 'pipe'],
      },
    );
    let errors = '';
    child.stderr.on('data', (chunk) => {
      errors += chunk;
    });
    child.on('close', () => {
      let tests = [];
      if (existsSync(report)) {
        const results = JSON.parse(readFileSync(report, 'utf8')).testResults;
        for (const file of results)
          if (file.assertionResults.length === 0 && file.message) errors += file.message;
        tests = results.flatMap((file) =>
          file.assertionResults.map((test) => ({ name: test.title, status: test.status })),
        );
      }
      rmSync(folder, { recursive: true, force: true });
      resolve({
        tests: tests.filter((test) => test.status === 'passed' || test.status === 'failed'),
        errors,
      });
    });
  });
}

const rows = [];
if (parts.includes('--switch-off')) {
  const chosen = controls.filter(
    (control) => (control.tests ?? []).length > 0 && (only.size === 0 || only.has(control.id)),
  );
  // A contract suite is run by the tests that bring an implementation to it.
  const filesOf = (control) => [
    ...new Set(
      control.tests.flatMap((test) => (/\.test\.tsx?$/.test(test.file) ? [test.file] : runnersOf(test.file))),
    ),
  ];
  const carries = (id) => (test) => test.name.includes(`[${id}]`);
  // Once with every control on, for all of them together; then once for each, with that one off.
  const allOn = await run(
    chosen.map((control) => control.id),
    [...new Set(chosen.flatMap(filesOf))],
    '',
  );
  const queue = [...chosen];
  const worker = async () => {
    for (let control = queue.shift(); control; control = queue.shift()) {
      const on = allOn.tests.filter(carries(control.id));
      const all = await run([control.id], filesOf(control), control.id);
      const off = all.tests.filter(carries(control.id));
      const green = on.filter((test) => test.status === 'passed').length;
      const red = off.filter((test) => test.status === 'failed').length;
      rows.push({ id: control.id, hazard: control.hazard, tests: on.length, on: green, off: red });
      if (on.length === 0) faults.push(`${control.id}: no test ran ${allOn.errors.trim().split('\n')[0]}`);
      else if (green < on.length) faults.push(`${control.id}: a test fails with the control on`);
      for (const test of off.filter((one) => one.status === 'passed'))
        faults.push(`${control.id}: "${test.name}" stays green with the control off, so it does not test it`);
      if (on.length > 0 && off.length < on.length)
        faults.push(
          `${control.id}: ${on.length - off.length} of its tests did not run with the control off ${all.errors.trim().split('\n')[0]}`,
        );
    }
  };
  await Promise.all([worker(), worker()]);
  rows.sort((a, b) => a.hazard.localeCompare(b.hazard, 'en', { numeric: true }) || a.id.localeCompare(b.id));
}

// --- what is printed -----------------------------------------------------------------------------------------
const byNumber = [...hazards].sort((a, b) =>
  String(a.id).localeCompare(String(b.id), 'en', { numeric: true }),
);
if (parts.includes('--json')) {
  mkdirSync(join(root, '.reports'), { recursive: true });
  console.log(JSON.stringify({ hazards: byNumber, switchedOff: rows, faults }, undefined, 1));
  process.exit(faults.length > 0 ? 1 : 0);
}
for (const hazard of byNumber) {
  const count = (hazard.controls ?? []).length;
  console.log(
    `${String(hazard.id).padEnd(4)} ${String(hazard.severity * hazard.likelihood.before).padStart(2)} → ${String(hazard.severity * hazard.likelihood.after).padStart(2)}  ${String(count).padStart(2)} controls  ${hazard.state.padEnd(10)} ${hazard.hazard}`,
  );
}
if (rows.length > 0) {
  console.log('\ncontrol                            tests  pass on  fail off');
  for (const row of rows)
    console.log(
      `${row.id.padEnd(34)} ${String(row.tests).padStart(5)} ${String(row.on).padStart(8)} ${String(row.off).padStart(9)}`,
    );
}
const without = byNumber.filter((hazard) => (hazard.controls ?? []).length === 0).map((hazard) => hazard.id);
console.log(
  `\n${hazards.length} hazards, ${controls.length} controls, ${controls.reduce((sum, control) => sum + (control.tests ?? []).length, 0)} tests; without a control so far: ${without.join(', ') || 'none'}`,
);
finish(
  'hazards',
  faults,
  rows.length > 0
    ? `the trace holds; ${rows.length} controls switched off, each failed its tests`
    : 'the trace holds',
);

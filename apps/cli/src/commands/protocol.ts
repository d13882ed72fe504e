// `ebbline protocol …`: decision tables from the command line. Answers on standard output, refusals on standard error.
import { isRefusal, RefusalError, refusalSentence, type Refusal } from '@ebbline/core/quantity';
import {
  answerDecision,
  compileProtocol,
  diffModels,
  proveProtocol,
  readDmn,
  type DmnModel,
  type Fault,
} from '@ebbline/protocol';
import { Command } from 'commander';
import { exits, readText } from './files.ts';
import { printCommand } from './protocol-print.ts';
import { replayCommand } from './protocol-replay.ts';

const { answered, failed: failedInside, usage: badUsage, refused: refusedInput } = exits;

interface PrintOptions {
  readonly json?: boolean;
}

interface AnswerOptions extends PrintOptions {
  readonly input: string;
  readonly decision?: string;
}

/** The `protocol` verb with its sub-verbs. */
export function protocolCommand(): Command {
  const command = new Command('protocol').description('run and check protocols kept as DMN decision tables');
  // Wrong options are bad usage (2), not a failure inside (1); help is an answer.
  command.exitOverride((error) => process.exit(error.exitCode === 0 ? answered : badUsage));
  command
    .command('answer')
    .description('run one decision of a DMN file')
    .argument('<file>', 'DMN file (XML)')
    .requiredOption('--input <json>', 'inputs as one JSON object, or @FILE')
    .option('--decision <name>', 'decision to run; may be left out when the file has one that no other needs')
    .option('--json', 'print the answer on one line')
    .addHelpText(
      'after',
      `\nExample:\n  npx ebbline protocol answer protocol.dmn --decision Advice --input '{"volumeMl": 240}'\n`,
    )
    .action(async (file: string, options: AnswerOptions) => {
      process.exitCode = await answer(file, options);
    });
  command
    .command('prove')
    .description('find every gap, overlap and unsafe row of a protocol, each with a patient who shows it')
    .argument('<file>', 'DMN file (XML) of a protocol')
    .option('--json', 'print the proof on one line')
    .addHelpText('after', `\nExample:\n  npx ebbline protocol prove protocol.dmn\n`)
    .action(async (file: string, options: PrintOptions) => {
      process.exitCode = await prove(file, options);
    });
  command
    .command('diff')
    .description('say in words what changed from one version of a protocol to another')
    .argument('<before>', 'DMN file (XML) of the earlier version')
    .argument('<after>', 'DMN file (XML) of the later version')
    .option('--json', 'print the differences on one line')
    .addHelpText('after', `\nExample:\n  npx ebbline protocol diff protocol-1.dmn protocol-2.dmn\n`)
    .action(async (before: string, after: string, options: PrintOptions) => {
      process.exitCode = await diff(before, after, options);
    });
  for (const sub of [printCommand(), replayCommand()]) command.addCommand(sub.copyInheritedSettings(command));
  return command;
}

async function diff(beforeFile: string, afterFile: string, options: PrintOptions): Promise<number> {
  try {
    const before = await readDmn(readText(beforeFile));
    if (isRefusal(before)) return refused(before, options);
    const after = await readDmn(readText(afterFile));
    if (isRefusal(after)) return refused(after, options);
    const differences = diffModels(before, after);
    if (options.json) print({ differences }, options);
    else {
      for (const { sentence } of differences) process.stdout.write(`${sentence}\n`);
      if (differences.length === 0) process.stdout.write('No difference.\n');
    }
    return answered;
  } catch (error) {
    if (error instanceof RefusalError) return refused(error.refusal, options);
    return complain(`Failed inside: ${error instanceof Error ? error.message : String(error)}`, failedInside);
  }
}

async function prove(file: string, options: PrintOptions): Promise<number> {
  try {
    const model = await readDmn(readText(file));
    if (isRefusal(model)) return refused(model, options);
    const protocol = compileProtocol(model);
    if (isRefusal(protocol)) return refused(protocol, options);
    const proof = proveProtocol(protocol);
    if (isRefusal(proof)) return refused(proof, options);
    const { faults, unreachableRows, kinds, exceptions, whole } = proof;
    const proved = faults.length === 0;
    if (options.json) print({ proved, faults, unreachableRows, kinds, exceptions, whole }, options);
    else {
      for (const fault of faults) process.stdout.write(`${faultLine(fault)}\n`);
      for (const row of unreachableRows)
        process.stdout.write(`note: no possible patient reaches row ${row}\n`);
      for (const exception of exceptions) process.stdout.write(`declared exception: ${exception}\n`);
      if (!whole) process.stdout.write('note: there are more faults than are listed\n');
      const verdict = proved
        ? `Proved: one safe answer for each of ${kinds} kinds of patient.`
        : `Not proved: ${faults.length} ${faults.length === 1 ? 'fault' : 'faults'}.`;
      process.stdout.write(`${verdict}\n`);
    }
    return proved ? answered : refusedInput;
  } catch (error) {
    if (error instanceof RefusalError) return refused(error.refusal, options);
    return complain(`Failed inside: ${error instanceof Error ? error.message : String(error)}`, failedInside);
  }
}

/** `overlap: rows A and B of Advice; for example trigger reading, volumeMl 400` */
function faultLine(fault: Fault): string {
  const words = (patient: Fault['patient']): string =>
    Object.entries(patient)
      .map(([name, value]) => `${name} ${String(value)}`)
      .join(', ') || 'anyone';
  const example = `for example ${words(fault.patient)}`;
  if (fault.kind === 'gap') return `gap: no row of ${fault.decision} fits; ${example}`;
  if (fault.kind === 'overlap')
    return `overlap: rows ${fault.rows.join(' and ')} of ${fault.decision} fit together; ${example}`;
  if (fault.before)
    return `unsafe: from row ${fault.rows.join(' to row ')} of ${fault.decision} breaks "${fault.law ?? ''}"; for example ${words(fault.before)}, and then ${words(fault.patient)}`;
  return `unsafe: row ${fault.rows.join(', ')} of ${fault.decision} breaks "${fault.law ?? ''}"; ${example}`;
}

async function answer(file: string, options: AnswerOptions): Promise<number> {
  try {
    const input = inputFrom(options.input);
    if (typeof input === 'string') return complain(input, badUsage);
    const model = await readDmn(readText(file));
    if (isRefusal(model)) return refused(model, options);
    const name = options.decision ?? onlyTopDecision(model);
    if (name === undefined) {
      return complain(
        `Say which decision with --decision: ${model.decisions.map((one) => `"${one.name}"`).join(', ') || 'this file has none'}.`,
        badUsage,
      );
    }
    const found = answerDecision(model, name, input);
    if (isRefusal(found)) return refused(found, options);
    print({ decision: found.decision, value: found.value, rows: found.rows }, options);
    return answered;
  } catch (error) {
    if (error instanceof RefusalError) return refused(error.refusal, options);
    return complain(`Failed inside: ${error instanceof Error ? error.message : String(error)}`, failedInside);
  }
}

/** The one decision that no other needs, when there is exactly one. */
function onlyTopDecision(model: DmnModel): string | undefined {
  const needed = new Set(model.decisions.flatMap((one) => one.needsDecisions));
  const top = model.decisions.filter((one) => !needed.has(one.id));
  return top.length === 1 ? top[0]?.name : undefined;
}

/** The inputs; a sentence when the option is no JSON object. A file that cannot be read is thrown as a refusal. */
function inputFrom(option: string): Readonly<Record<string, unknown>> | string {
  const text = option.startsWith('@') ? readText(option.slice(1)) : option;
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value === 'object' && value !== null && !Array.isArray(value))
      return value as Record<string, unknown>;
  } catch {
    // Falls through to the sentence below.
  }
  return `--input is not a JSON object. Give one such as '{"volumeMl": 240}', or @FILE that holds one.`;
}

function refused(refusal: Refusal, options: PrintOptions): number {
  if (options.json) print(refusal, options);
  return complain(refusalSentence(refusal), refusedInput);
}

function print(value: unknown, options: PrintOptions): void {
  process.stdout.write(`${options.json ? JSON.stringify(value) : JSON.stringify(value, undefined, 2)}\n`);
}

function complain(sentence: string, code: number): number {
  process.stderr.write(`${sentence}\n`);
  return code;
}

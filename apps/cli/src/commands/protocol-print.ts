/**
 * `ebbline protocol print FILE`: a protocol on paper. A file says of itself nothing about approval, so that what is printed
 * from one is always marked as an example.
 *
 * Out       `--pdf`: the flow sheet, or with `--table` the tables whole; `--plan-definition`: FHIR R4
 * Exit      0 written · 1 failed inside · 2 bad usage · 3 refused: no protocol, or not proved
 */
import { Command } from 'commander';
import { isRefusal, orThrow, refuse, RefusalError } from '@ebbline/core/quantity';
import { compileProtocol, proveProtocol, readDmn, type CompiledProtocol } from '@ebbline/protocol';
import { answer, exits, readText, Usage, writeOut } from './files.ts';

interface Options {
  readonly pdf?: string;
  readonly table?: boolean;
  readonly planDefinition?: string;
}

export function printCommand(): Command {
  return new Command('print')
    .description('print a proved protocol: its one-page flow sheet, its tables, or a FHIR PlanDefinition')
    .argument('<file>', 'DMN file (XML) of a protocol')
    .option('--pdf <out>', 'PDF to write')
    .option('--table', 'the tables whole, instead of the flow sheet')
    .option('--plan-definition <out>', 'FHIR R4 PlanDefinition (JSON) to write')
    .addHelpText('after', `\nExample:\n  npx ebbline protocol print protocol.dmn --pdf flow-sheet.pdf\n`)
    .action((file: string, options: Options) => answer(() => print(file, options, Date.now())));
}

async function print(file: string, options: Options, printedAtMs: number): Promise<number> {
  if (options.pdf === undefined && options.planDefinition === undefined)
    throw new Usage('Say what to write: --pdf OUT, --plan-definition OUT, or both.');
  if (options.table === true && options.pdf === undefined) throw new Usage('--table needs --pdf OUT.');
  const protocol = orThrow(compileProtocol(orThrow(await readDmn(readText(file)))));
  mustBeProved(protocol);
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (options.pdf !== undefined) {
    const { flowSheetPdf, protocolTablesPdf } = await import('@ebbline/interop/pdf');
    const make = options.table === true ? protocolTablesPdf : flowSheetPdf;
    writeOut(options.pdf, await make({ protocol, zone, printedAtMs }), '--pdf');
    const what = options.table === true ? 'tables' : 'flow sheet';
    process.stdout.write(`Wrote the ${what} of "${protocol.title}" to ${options.pdf}\n`);
  }
  if (options.planDefinition !== undefined) {
    const { planDefinition } = await import('@ebbline/interop/fhir');
    const text = `${JSON.stringify(orThrow(planDefinition({ protocol, zone })), undefined, 2)}\n`;
    writeOut(options.planDefinition, text, '--plan-definition');
    process.stdout.write(`Wrote "${protocol.title}" as a PlanDefinition to ${options.planDefinition}\n`);
  }
  return exits.answered;
}

/** Paper outlives a correction, so that a protocol with a hole is not printed. */
function mustBeProved(protocol: CompiledProtocol): void {
  const proof = proveProtocol(protocol);
  if (isRefusal(proof)) throw new RefusalError(proof);
  const faults = proof.faults.length;
  if (faults === 0) return;
  throw new RefusalError(
    refuse('protocol/not-proved', {
      asked: 'Print',
      found: `${faults} ${faults === 1 ? 'fault' : 'faults'} in "${protocol.title}"`,
      allowed: 'a protocol that gives every patient one safe answer',
      todo: 'Run "ebbline protocol prove" on the file, put the rows right, and print again.',
    }),
  );
}

// Proves     other programs read the reports we write as a tree with our values, and find no fault in their form.
// Published  DCMTK (dsrdump), dicom3tools (dciodvfy), where installed
// Tolerance  exact; no error, and no warning but those named in `harmless`
import { describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import { sourceOfImage, writeReport } from '@ebbline/interop/dicom';
import { reportOf, resultOf, testFile } from '@ebbline/interop/dicom/testing';
import { has, run } from './tools.ts';

/** Said of every code of a scheme of one's own, and where no patient is named: both on purpose. */
const harmless = [
  /^Warning - Unrecognized defined term <99EBBLINE> for value 1 of attribute <Coding Scheme Designator>/,
  /^Warning - Missing attribute or value that would be needed to build DICOMDIR - (?:Patient ID|Study Date|Study Time)/,
];

const source = orThrow(await sourceOfImage(testFile()));
// Without layout, relation, version and time of the look.
const {
  layout: _layout,
  relation: _relation,
  version: _version,
  measuredAt: _measuredAt,
  ...least
} = reportOf({ result: resultOf({ reasons: [] }) });
const reports = {
  'a volume with its image, diameters and names': reportOf({
    source,
    diametersMm: { width: 91.4, depth: 80, height: 100 },
    patient: { name: 'Erfundén^Ζωή', id: 'X-1' },
    person: 'Nurse^Öz',
    outlinedBy: 'both',
  }),
  'a lower bound': reportOf({ result: resultOf({ answer: 'at-least', boundMl: 350.4 }) }),
  'none seen': reportOf({ result: { answer: 'none-seen', reasons: [], planes: [], findings: {} } }),
  'the least that can be said': least,
};

describe('reports of ours in other hands', () => {
  it.for(Object.entries(reports))('dciodvfy finds no fault in %s', ([, report], { skip }) => {
    skip(!has('dciodvfy'), 'dciodvfy (dicom3tools) is not installed');
    const { said } = run('dciodvfy', [], orThrow(writeReport(report)), false);
    expect(said).toContain('ComprehensiveSR');
    const found = said.split('\n').filter((line) => /^(?:Error|Warning)/.test(line));
    expect(found.filter((line) => !harmless.some((one) => one.test(line)))).toEqual([]);
  });
  it('dsrdump reads the tree, its values and every script of a name', ({ skip }) => {
    skip(!has('dsrdump'), 'dsrdump (dcmtk) is not installed');
    const report = reports['a volume with its image, diameters and names'];
    const { said, status } = run('dsrdump', ['+U8'], orThrow(writeReport(report)), false);
    expect(status, said).toBe(0);
    for (const part of [
      'Erfundén^Ζωή',
      'Nurse^Öz',
      '<contains NUM:(,,"Volume")="412.3" (cm3,UCUM,"cubic centimeter")>',
      '<contains NUM:(,,"Width")="9.14" (cm,UCUM,"centimeter")>',
      'CODE:(,,"Finding Site")=(89837001,SCT,"Bladder")',
      'wall too faint in places',
      'Worked out from outlines',
    ])
      expect(said).toContain(part);
  });
  it('dsrdump finds a lower bound under no other name', ({ skip }) => {
    skip(!has('dsrdump'), 'dsrdump (dcmtk) is not installed');
    const { said } = run('dsrdump', ['+U8'], orThrow(writeReport(reports['a lower bound'])), false);
    expect(said).toContain('"Volume at least, part of the bladder unseen")="350.4"');
    expect(said).not.toContain('NUM:(,,"Volume")');
  });
});

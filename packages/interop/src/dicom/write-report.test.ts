// Proves     a report holds the volume in cubic centimetres with interval, method, site, who outlined and every reason to
//            doubt; a lower bound never stands as the volume; nothing of the patient that was not given; UTF-8 throughout.
// Published  DICOM PS3.16 TID 1500 and 1501; other programs' verdict on the same reports is in conformance/dicom
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import type { VolumeResult } from '@ebbline/imaging';
import { itemsOf, plainText, type DataSet } from './elements.ts';
import { readDicomFile } from './part10.ts';
import { readUltrasound, sourceOfImage, writeReport } from './index.ts';
import { reportLines, reportOf, resultOf, utf8, type ReportLine } from './testing/report.ts';
import { testFile } from './testing/file.ts';

async function read(
  report: Parameters<typeof writeReport>[0],
): Promise<{ set: DataSet; all: readonly ReportLine[] }> {
  const bytes = orThrow(writeReport(report));
  const { data } = orThrow(await readDicomFile(bytes));
  return { set: data, all: await reportLines(bytes) };
}
const valueOf = (all: readonly ReportLine[], name: string): string | undefined =>
  all.find((one) => one.path.endsWith(`/ ${name}`))?.value;

describe('a report of a volume', () => {
  it('holds volume, interval, diameters, method, site, who outlined, reasons and the caution', async () => {
    const { set, all } = await read(reportOf({ diametersMm: { width: 91.4, depth: 80, height: 100 } }));
    expect(plainText(set, 0x0008_0016)).toBe('1.2.840.10008.5.1.4.1.1.88.33');
    // The example of ITU-T X.667 for a UUID as an object identifier.
    expect(plainText(set, 0x0008_0018)).toBe('2.25.329800735698586629295641978511506172918');
    expect(utf8(set, 0x0008_0023)).toBe('20260512');
    expect(utf8(set, 0x0008_0033)).toBe('114500');
    expect(utf8(set, 0x0008_0201)).toBe('+0200');
    expect(valueOf(all, 'Volume')).toBe('412.3 cm3');
    expect(valueOf(all, 'Lower end of the 90 % interval')).toBe('380.0 cm3');
    expect(valueOf(all, 'Upper end of the 90 % interval')).toBe('445.1 cm3');
    expect(valueOf(all, 'Width')).toBe('9.14 cm');
    expect(valueOf(all, 'Depth')).toBe('8.00 cm');
    expect(valueOf(all, 'Height')).toBe('10.00 cm');
    expect(valueOf(all, 'Finding Site')).toBe('89837001 SCT');
    expect(valueOf(all, 'Measurement Method')).toBe('outlines-fan 99EBBLINE');
    expect(valueOf(all, 'Patient State')).toBe('109135 DCM');
    expect(valueOf(all, 'Who outlined')).toContain('program');
    expect(
      all.filter((one) => one.path.endsWith('Reason to distrust the volume')).map((one) => one.value),
    ).toEqual(['wall too faint in places', 'scale or layout given by hand']);
    expect(valueOf(all, 'Comment')).toContain('It advises');
  });
  it('never gives a lower bound the name of the volume', async () => {
    const { all } = await read(reportOf({ result: resultOf({ answer: 'at-least', boundMl: 350.4 }) }));
    expect(valueOf(all, 'Volume')).toBeUndefined();
    expect(valueOf(all, 'Volume at least, part of the bladder unseen')).toBe('350.4 cm3');
    expect(valueOf(all, 'Completed estimate of the volume')).toBe('412.3 cm3');
    expect(all.some((one) => one.value.startsWith('At least 350 mL'))).toBe(true);
  });
  it('says none seen as a volume that was not obtained, not as 0', async () => {
    const none: VolumeResult = { answer: 'none-seen', reasons: [], planes: [], findings: {} };
    const { all } = await read(reportOf({ result: none }));
    expect(valueOf(all, 'Volume')).toBe('');
    expect(all.some((one) => /\b0(\.0)? cm3/.test(one.value))).toBe(false);
    expect(all.some((one) => one.value.startsWith('No bladder seen'))).toBe(true);
  });
  it('points at its source image and stands in the same study', async () => {
    const source = orThrow(await sourceOfImage(testFile()));
    const { set } = await read(reportOf({ source }));
    expect(plainText(set, 0x0020_000d)).toBe('2.25.1002');
    const study = itemsOf(set, 0x0040_a375)?.[0] as DataSet;
    const series = itemsOf(study, 0x0008_1115)?.[0] as DataSet;
    const instance = itemsOf(series, 0x0008_1199)?.[0] as DataSet;
    expect(plainText(series, 0x0020_000e)).toBe('2.25.1003');
    expect(plainText(instance, 0x0008_1155)).toBe('2.25.1001');
  });
  it('holds names as given, in any script, and none that were not', async () => {
    const { set, all } = await read(
      reportOf({ patient: { name: 'Erfundén^Ζωή', id: 'X-1' }, person: 'Nurse^Öz' }),
    );
    expect(utf8(set, 0x0010_0010)).toBe('Erfundén^Ζωή');
    expect(all.some((one) => one.value === 'Nurse^Öz')).toBe(true);
    const bare = await read(reportOf({}));
    for (const tag of [0x0010_0010, 0x0010_0020, 0x0010_0030, 0x0010_0040, 0x0008_0050, 0x0008_0090])
      expect(utf8(bare.set, tag)).toBe('');
  });
  it('is refused without a volume, with identifiers or names that can not be written', () => {
    const refused: VolumeResult = { answer: 'refused', reasons: [], planes: [], findings: {} };
    expect(writeReport(reportOf({ result: refused }))).toMatchObject({ code: 'dicom/nothing-to-report' });
    const ids = { ...reportOf({}).ids, report: 'none' };
    expect(writeReport(reportOf({ ids }))).toMatchObject({ code: 'dicom/report-field' });
    const twice = { ...reportOf({}).ids, study: reportOf({}).ids.report };
    expect(writeReport(reportOf({ ids: twice }))).toMatchObject({ code: 'dicom/report-field' });
    for (const name of ['a\\b', 'a\nb', 'x'.repeat(65)])
      expect(writeReport(reportOf({ patient: { name } }))).toMatchObject({ code: 'dicom/report-field' });
    expect(isRefusal(writeReport(reportOf({ measuredAt: 'yesterday' })))).toBe(true);
  });
  it('is no ultrasound image to our own reader', async () => {
    expect(await readUltrasound(orThrow(writeReport(reportOf({}))))).toMatchObject({
      code: 'dicom/not-ultrasound-image',
    });
  });
});

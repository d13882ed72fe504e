/**
 * A volume from images as a DICOM structured report: Comprehensive SR, template TID 1500 with one measurement group
 * (TID 1501). It holds what is given and nothing else of the patient.
 *
 * A lower bound goes out under a name of our own with "at least" in it, so that no reader takes it for the volume; a look
 * that saw no bladder goes out as a volume that was not obtained. Reasons to doubt, who outlined and the caution stand
 * as words.
 *
 * In        result of the tracer or of a person's outlines, instants, identifiers (UUIDs), what the caller wants said
 * Out       the bytes of one file, text in UTF-8
 * Units     volume cm3 (1 cm3 = 1 mL), diameters cm
 * Errors    dicom/nothing-to-report, dicom/report-field
 * Source    DICOM PS3.3 A.35.3 and C.17 (S-dicom-ps3.3), PS3.16 TID 1500 and 1501 (S-dicom-ps3.16), codes S-dicom-codes
 */
import type { Layout, VolumeResult } from '@ebbline/imaging';
import {
  instantInZone,
  isRefusal,
  readInstant,
  refuse,
  type Instant,
  type Refusal,
} from '@ebbline/core/quantity';
import {
  code,
  codeItem,
  coded,
  container,
  containerValue,
  image,
  notNumbered,
  numbered,
  own,
  ownScheme,
  personNamed,
  reference,
  uidReference,
  worded,
  type Code,
  type Content,
  type SourceImage,
} from './report-content.ts';
import { encodeFile, implementationUid, sequence, text, type OutElement } from './write-elements.ts';

export interface VolumeReport {
  readonly result: VolumeResult;
  readonly layout?: Layout;
  /** Diameters that were measured: width across, depth front to back, height head to foot. */
  readonly diametersMm?: { readonly width?: number; readonly depth?: number; readonly height?: number };
  readonly relation?: 'before-void' | 'after-void';
  readonly outlinedBy: 'program' | 'person' | 'both';
  /** Name of the person who outlined or vouches, if it is to be said. */
  readonly person?: string;
  /** Reasons to doubt in words; those of the result when left out. */
  readonly reasons?: readonly string[];
  readonly source?: SourceImage;
  /** Only what the caller gives; without it the fields stay empty. */
  readonly patient?: { readonly name?: string; readonly id?: string };
  /** When the look was made, if that is known; the report then carries it as the time of the study. */
  readonly measuredAt?: Instant;
  readonly writtenAt: Instant;
  readonly zone: string;
  /** Version of the program, beside its name as observer. */
  readonly version?: string;
  /** UUIDs of the report, its series, its study (where no source image names one) and what is followed over time. */
  readonly ids: {
    readonly report: string;
    readonly series: string;
    readonly study: string;
    readonly tracking: string;
  };
}

export const comprehensiveSr = '1.2.840.10008.5.1.4.1.1.88.33';

const cubicCentimetre = code('cm3', 'UCUM', 'cubic centimeter');
const centimetre = code('cm', 'UCUM', 'centimeter');
const volume = code('118565006', 'SCT', 'Volume');
const sourceOfMeasurement = code('121112', 'DCM', 'Source of Measurement');
const methods: Readonly<Record<Layout, Code>> = {
  rotational_fan: own('outlines-fan', 'Outlines on planes turned about the probe axis'),
  tilt_sweep: own('outlines-tilt', 'Outlines on planes tilted through one apex'),
  parallel_sweep: own('outlines-parallel', 'Outlines on parallel planes'),
  two_orthogonal_planes: own('outlines-two-planes', 'Outlines on two planes at right angles'),
};
const outliners: Readonly<Record<VolumeReport['outlinedBy'], string>> = {
  program: 'Outlined by the program; no person changed it.',
  person: 'Outlined by a person.',
  both: 'Outlined by the program and changed by a person.',
};
const caution =
  'Worked out from outlines on ultrasound images. It advises; it neither orders nor excludes anything. Local protocol, the prescriber and licensed practice decide.';

/** UUID to the identifier that DICOM derives from it (PS3.5 B.2). */
export function uidOf(uuid: string): string | undefined {
  const digits = uuid.replaceAll('-', '');
  return /^[0-9a-fA-F]{32}$/.test(digits) ? `2.25.${BigInt(`0x${digits}`)}` : undefined;
}

const wrongField = (where: string, allowed: string): Refusal =>
  refuse('dicom/report-field', {
    asked: 'DICOM report',
    found: 'a value that can not be written',
    allowed,
    todo: 'Correct the value.',
    where,
  });

export function writeReport(report: VolumeReport): Uint8Array | Refusal {
  const { result, source } = report;
  if (result.answer === 'refused' || (result.answer !== 'none-seen' && result.volumeMl === undefined)) {
    return refuse('dicom/nothing-to-report', {
      asked: 'DICOM report',
      found: 'no volume from these images',
      allowed: 'a volume, a lower bound, or that no bladder was seen',
      todo: 'Outline the bladder first.',
    });
  }
  const measured =
    report.measuredAt === undefined ? { date: '', time: '' } : dateAndTime(report.measuredAt, report.zone);
  const written = dateAndTime(report.writtenAt, report.zone);
  if (isRefusal(measured)) return measured;
  if (isRefusal(written)) return written;
  const { report: reportId, series, study, tracking } = report.ids;
  const [reportUid, seriesUid, studyUid, trackingUid] = [reportId, series, study, tracking].map(uidOf);
  if (
    !reportUid ||
    !seriesUid ||
    !studyUid ||
    !trackingUid ||
    new Set([reportUid, seriesUid, studyUid, trackingUid]).size < 4
  )
    return wrongField('ids', 'four different UUIDs');
  for (const [where, value] of [
    ['patient.name', report.patient?.name],
    ['patient.id', report.patient?.id],
    ['person', report.person],
  ] as const) {
    // Backslash and control characters part or break values in the format.
    // oxlint-disable-next-line no-control-regex
    if (value !== undefined && (value.length > 64 || /[\\\u0000-\u001f=]/.test(value)))
      return wrongField(where, 'at most 64 characters, no backslash, no equals sign, no line break');
  }
  const elements: OutElement[] = [
    text(0x0008_0005, 'CS', 'ISO_IR 192'),
    text(0x0008_0016, 'UI', comprehensiveSr),
    text(0x0008_0018, 'UI', reportUid),
    text(0x0008_0020, 'DA', measured.date),
    text(0x0008_0023, 'DA', written.date),
    text(0x0008_0030, 'TM', measured.time),
    text(0x0008_0033, 'TM', written.time),
    text(0x0008_0050, 'SH', ''),
    text(0x0008_0060, 'CS', 'SR'),
    text(0x0008_0070, 'LO', 'Ebbline'),
    text(0x0008_0090, 'PN', ''),
    sequence(0x0008_0110, [text(0x0008_0102, 'SH', ownScheme), text(0x0008_0115, 'ST', 'Codes of Ebbline')]),
    text(0x0008_0201, 'SH', written.offset),
    sequence(0x0008_1111),
    text(0x0010_0010, 'PN', report.patient?.name ?? ''),
    text(0x0010_0020, 'LO', report.patient?.id ?? ''),
    text(0x0010_0030, 'DA', ''),
    text(0x0010_0040, 'CS', ''),
    ...(report.version === undefined ? [] : [text(0x0018_1020, 'LO', report.version)]),
    text(0x0020_000d, 'UI', source?.studyUid ?? studyUid),
    text(0x0020_000e, 'UI', seriesUid),
    text(0x0020_0010, 'SH', '1'),
    text(0x0020_0011, 'IS', '1'),
    text(0x0020_0013, 'IS', '1'),
    sequence(0x0040_a372),
    text(0x0040_a491, 'CS', 'COMPLETE'),
    text(0x0040_a493, 'CS', 'UNVERIFIED'),
    text(0x0040_a040, 'CS', 'CONTAINER'),
    sequence(0x0040_a043, codeItem(code('126000', 'DCM', 'Imaging Measurement Report'))),
    ...containerValue('1500'),
    sequence(0x0040_a730, ...tree(report, trackingUid)),
  ];
  if (source) {
    elements.push(
      sequence(0x0040_a375, [
        sequence(0x0008_1115, [
          sequence(0x0008_1199, reference(source)),
          text(0x0020_000e, 'UI', source.seriesUid),
        ]),
        text(0x0020_000d, 'UI', source.studyUid),
      ]),
    );
  }
  return encodeFile(comprehensiveSr, reportUid, elements);
}

function tree(report: VolumeReport, trackingUid: string): readonly Content[] {
  const { source, person } = report;
  return [
    coded(
      'HAS CONCEPT MOD',
      code('121049', 'DCM', 'Language of Content Item and Descendants'),
      code('en', 'RFC5646', 'English'),
    ),
    coded('HAS OBS CONTEXT', code('121005', 'DCM', 'Observer Type'), code('121007', 'DCM', 'Device')),
    uidReference('HAS OBS CONTEXT', code('121012', 'DCM', 'Device Observer UID'), implementationUid),
    worded(
      'HAS OBS CONTEXT',
      code('121013', 'DCM', 'Device Observer Name'),
      ['Ebbline', report.version ?? []].flat().join(' '),
    ),
    ...(person === undefined
      ? []
      : [
          coded('HAS OBS CONTEXT', code('121005', 'DCM', 'Observer Type'), code('121006', 'DCM', 'Person')),
          personNamed('HAS OBS CONTEXT', code('121008', 'DCM', 'Person Observer Name'), person),
        ]),
    coded(
      'HAS CONCEPT MOD',
      code('121058', 'DCM', 'Procedure reported'),
      code('25019-1', 'LN', 'US Urinary bladder'),
    ),
    ...(source
      ? [
          container(
            code('111028', 'DCM', 'Image Library'),
            [
              container(code('126200', 'DCM', 'Image Library Group'), [
                image('CONTAINS', sourceOfMeasurement, source),
              ]),
            ],
            '1600',
          ),
        ]
      : []),
    container(code('126010', 'DCM', 'Imaging Measurements'), [group(report, trackingUid)]),
  ];
}

function group(report: VolumeReport, trackingUid: string): Content {
  const { result, layout, relation, diametersMm = {} } = report;
  const reasons = report.reasons ?? result.reasons.map((one) => one.words);
  const diameter = (name: Code, valueMm: number | undefined): readonly Content[] =>
    valueMm === undefined ? [] : [numbered(name, (valueMm / 10).toFixed(2), centimetre)];
  return container(
    code('125007', 'DCM', 'Measurement Group'),
    [
      worded('HAS OBS CONTEXT', code('112039', 'DCM', 'Tracking Identifier'), 'Urinary bladder'),
      uidReference('HAS OBS CONTEXT', code('112040', 'DCM', 'Tracking Unique Identifier'), trackingUid),
      ...(relation === undefined
        ? []
        : [
            coded(
              'HAS ACQ CONTEXT',
              code('109054', 'DCM', 'Patient State'),
              relation === 'before-void'
                ? code('109134', 'DCM', 'Prior to voiding')
                : code('109135', 'DCM', 'Post voiding'),
            ),
          ]),
      ...(layout
        ? [coded('HAS CONCEPT MOD', code('370129005', 'SCT', 'Measurement Method'), methods[layout])]
        : []),
      coded('HAS CONCEPT MOD', code('363698007', 'SCT', 'Finding Site'), code('89837001', 'SCT', 'Bladder')),
      ...diameter(code('103355008', 'SCT', 'Width'), diametersMm.width),
      ...diameter(code('131197000', 'SCT', 'Depth'), diametersMm.depth),
      ...diameter(code('121207', 'DCM', 'Height'), diametersMm.height),
      ...volumes(report),
      worded('CONTAINS', own('outlined-by', 'Who outlined'), outliners[report.outlinedBy]),
      ...reasons.map((words) => worded('CONTAINS', own('doubt', 'Reason to distrust the volume'), words)),
      worded('CONTAINS', code('121106', 'DCM', 'Comment'), caution),
    ],
    '1501',
  );
}

/** The volume, or the lower bound with its completed estimate, or that none was seen; then the interval. */
function volumes({ result, source }: VolumeReport): readonly Content[] {
  const from = source ? [image('INFERRED FROM', sourceOfMeasurement, source)] : [];
  const inMl = (name: Code, valueMl: number, more: readonly Content[] = []): Content =>
    numbered(name, valueMl.toFixed(1), cubicCentimetre, more.length > 0 ? more : undefined);
  const estimated = coded(
    'HAS CONCEPT MOD',
    code('121401', 'DCM', 'Derivation'),
    code('414135002', 'SCT', 'Estimated'),
  );
  const { volumeMl = 0, boundMl = 0, interval } = result;
  if (result.answer === 'none-seen') {
    return [
      notNumbered(volume, code('114006', 'DCM', 'Measurement failure'), from.length > 0 ? from : undefined),
      worded('CONTAINS', code('121106', 'DCM', 'Comment'), 'No bladder seen. This is not a volume of zero.'),
    ];
  }
  const ends = interval
    ? [
        inMl(own('interval-low', 'Lower end of the 90 % interval'), interval.loMl),
        inMl(own('interval-high', 'Upper end of the 90 % interval'), interval.hiMl),
      ]
    : [];
  if (result.answer === 'at-least') {
    return [
      inMl(own('volume-at-least', 'Volume at least, part of the bladder unseen'), boundMl, from),
      inMl(own('volume-completed', 'Completed estimate of the volume'), volumeMl, [estimated, ...from]),
      worded(
        'CONTAINS',
        code('121106', 'DCM', 'Comment'),
        `At least ${boundMl.toFixed(0)} mL: part of the bladder lies outside the pictures.`,
      ),
      ...ends,
    ];
  }
  return [inMl(volume, volumeMl, [estimated, ...from]), ...ends];
}

/** Date and time on the clock of the ward, and its offset from UTC. */
function dateAndTime(
  instant: Instant,
  zone: string,
): { readonly date: string; readonly time: string; readonly offset: string } | Refusal {
  const milliseconds = readInstant(instant);
  if (isRefusal(milliseconds)) return milliseconds;
  const clock = instantInZone(milliseconds, zone).replaceAll(/[-:]/g, '');
  const sign = instantInZone(milliseconds, zone).at(-6) as string;
  return { date: clock.slice(0, 8), time: clock.slice(9, 15), offset: `${sign}${clock.slice(-4)}` };
}

/**
 * Frames of 16 × 16 that other programs packed, made from the patterns below; to be read back against them.
 *
 * JPEG, lossless JPEG and JPEG-LS by DCMTK 3.6.7, JPEG 2000 by GDCM 3.0.21.
 */
export const side = 16;

export type Pattern = 'grey' | 'deep' | 'colour';

/** 8 bits, one value a pixel. */
export const greyAt = (x: number, y: number): number => (x * 11 + y * 5) % 256;
/** 12 bits, one value a pixel. */
export const deepAt = (x: number, y: number): number => (x * 171 + y * 83) % 4096;
/** Red, green, blue of a pixel. */
export const colourAt = (x: number, y: number): readonly [number, number, number] => [
  (x * 7 + y * 5) % 256,
  (x * 11 + y * 6) % 256,
  (x * 15 + y * 7) % 256,
];

export interface PackedFrame {
  readonly name: string;
  readonly syntax: string;
  readonly photometric: string;
  readonly pattern: Pattern;
  /** Largest difference of grey that the packing may leave. */
  readonly tolerance: number;
  readonly frame: Uint8Array;
}

const from = (base64: string): Uint8Array => Uint8Array.from(Buffer.from(base64, 'base64'));

export const packedFrames: readonly PackedFrame[] = [
  {
    name: 'baseline JPEG in grey',
    syntax: '1.2.840.10008.1.2.4.50',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 2,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAIBAQEBAQIBAQECAgICAgQDAgICAgUEBAMEBgUGBgYFBgYGBwkIBgcJ' +
        'BwYGCAsICQoKCgoKBggLDAsKDAkKCgr/wAALCAAQABABAREA/8QAFQABAQAAAAAAAAAAAAAAAAAACQj/xAAaEAAA' +
        'BwAAAAAAAAAAAAAAAAAABwgkNEFS/9oACAEBAAA/ADfRsUkRrmgsCNikiNc0I/RsUkRrmgsCNikiNc0P/9k=',
    ),
  },
  {
    name: 'baseline JPEG in brightness and colour differences',
    syntax: '1.2.840.10008.1.2.4.50',
    photometric: 'YBR_FULL_422',
    pattern: 'colour',
    tolerance: 12,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAIBAQEBAQIBAQECAgICAgQDAgICAgUEBAMEBgUGBgYFBgYGBwkIBgcJ' +
        'BwYGCAsICQoKCgoKBggLDAsKDAkKCgr/2wBDAQICAgICAgUDAwUKBwYHCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoK' +
        'CgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgr/wAARCAAQABADASEAAhEBAxEB/8QAFQABAQAAAAAAAAAAAAAAAAAA' +
        'CQj/xAAnEAABAgUCBQUAAAAAAAAAAAABAgMABAUHEQghJDE0QUIGElFSYf/EABUBAQEAAAAAAAAAAAAAAAAAAAcB' +
        '/8QAIxEAAgIBAwQDAQAAAAAAAAAAAQIDEQUAITEEBgdBElGRof/aAAwDAQACEQMRAD8AODSJZXpeE+vjCg6V7TSt' +
        'Ip7dTnJb2tMIClbDJ/BnG55AdyYScJ1vS4XFS5DqjUUKNIx22VFLMdyANgeSB9kaNO52aRyi8k1qeNIllel4T48Y' +
        'RC0tsnW00704zKqSHEpefOMBQyQlPPfcEkEdkwU+as1L294YyDRWHnCQiuKlZQ90QaMfzHuyQCCpOpkalyIv1Z/O' +
        'P7r/2Q==',
    ),
  },
  {
    name: 'baseline JPEG in red, green, blue',
    syntax: '1.2.840.10008.1.2.4.50',
    photometric: 'RGB',
    pattern: 'colour',
    tolerance: 4,
    frame: from(
      '/9j/7gAOQWRvYmUAZAAAAAAA/9sAQwACAQEBAQECAQEBAgICAgIEAwICAgIFBAQDBAYFBgYGBQYGBgcJCAYHCQcG' +
        'BggLCAkKCgoKCgYICwwLCgwJCgoK/8AAEQgAEAAQA1IRAEcRAEIRAP/EABcAAQEBAQAAAAAAAAAAAAAAAAgJBQf/' +
        'xAAqEAABAAgEBgMBAAAAAAAAAAADAAECBAUHCCQGNEJSCRITM0FRChEUI//aAAwDUgBHAEIAAD8AlPT/ACk7Fr68' +
        'JO2jaSWUtNulBnw7qf8AI2W3Sjgp/lJ2LX14SsFG0kspabdKWgkxGJV0bU4YmqknW8/kwxgbD5orE+QoBmeumz/N' +
        '0d+uQY23k5VjAEbTbPUMYY1L+21Jz+n+UnYtfXhC/RtJLKWm3Sg/4d1P+RstulHBT/KTsWvrwlYKNpJZS026Uz/k' +
        'g1B4qw5DpX8M/A4Ig4Okfh4cc4+eh84hxF1ZeDusNcVNDOpRhKeHZ7eDBMFbKiAh5Bt8zDalf///2Q==',
    ),
  },
  {
    name: 'extended JPEG of 8 bits',
    syntax: '1.2.840.10008.1.2.4.51',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 2,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAIBAQEBAQIBAQECAgICAgQDAgICAgUEBAMEBgUGBgYFBgYGBwkIBgcJ' +
        'BwYGCAsICQoKCgoKBggLDAsKDAkKCgr/wQALCAAQABABAREA/8QAFQABAQAAAAAAAAAAAAAAAAAACQj/xAAaEAAA' +
        'BwAAAAAAAAAAAAAAAAAABwgkNEFS/9oACAEBAAA/ADfRsUkRrmgsCNikiNc0I/RsUkRrmgsCNikiNc0P/9k=',
    ),
  },
  {
    name: 'lossless JPEG',
    syntax: '1.2.840.10008.1.2.4.57',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 0,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/wwALCAAQABABAREA/8QAFwABAQEBAAAAAAAAAAAAAAAAAgMECP/aAAgBAQAG' +
        'AADn/Xr169evXr169evXr11bbbbbbbdW2222223Vttttttt1bbbbbbbdW2222223Vttttttt1bbbbbbbdW222222' +
        '3Vttttttt1bbbbbbbdW2222223Vttttttt1bbbbbbbdW2222223Vttttttt////Z',
    ),
  },
  {
    name: 'lossless JPEG of 12 bits',
    syntax: '1.2.840.10008.1.2.4.57',
    photometric: 'MONOCHROME2',
    pattern: 'deep',
    tolerance: 0,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/wwALEAAQABABAREA/8QAFwABAQEBAAAAAAAAAAAAAAAAAAcIEP/aAAgBAQAE' +
        'AADtV6r1XqvVeq9V6r1XqvVeq9V6r1XUwABUwABUwABUwABUwABUwABUwABUwABUwABUwABUwABUwABUwABUwABU' +
        'wAB////Z',
    ),
  },
  {
    name: 'lossless JPEG by the first predictor',
    syntax: '1.2.840.10008.1.2.4.70',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 0,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/wwALCAAQABABAREA/8QAFgABAQEAAAAAAAAAAAAAAAAABAMI/9oACAEBAAEA' +
        'AM/rWta1rWta1rWuq1rWta1rWta1rqta1rWta1rWta6rWta1rWta1rWuq1rWta1rWta1rqta1rWta1rWta6rWta1' +
        'rWta1rWuq1rWta1rWta1rqta1rWta1rWta6rWta1rWta1rWuq1rWta1rWta1rqta1rWta1rWta6rWta1rWta1rWu' +
        'q1rWta1rWta1rqta1rWta1rWta6rWta1rWta1rWv/9k=',
    ),
  },
  {
    name: 'lossless JPEG by the first predictor, 12 bits',
    syntax: '1.2.840.10008.1.2.4.70',
    photometric: 'MONOCHROME2',
    pattern: 'deep',
    tolerance: 0,
    frame: from(
      '/9j/4AAQSkZJRgABAQAAAQABAAD/wwALEAAQABABAREA/8QAFgABAQEAAAAAAAAAAAAAAAAACAcQ/9oACAEBAAEA' +
        'AMq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1' +
        'Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1W' +
        'q1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq' +
        '6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1' +
        'Wq1Wq1Wq6mq1Wq1Wq1Wq1Wq1Wq1Wq1Wq/wD/2Q==',
    ),
  },
  {
    name: 'lossless JPEG by the first predictor, colour',
    syntax: '1.2.840.10008.1.2.4.70',
    photometric: 'RGB',
    pattern: 'colour',
    tolerance: 0,
    frame: from(
      '/9j/wwARCAAQABADABEAAREAAhEA/8QAFgABAQEAAAAAAAAAAAAAAAAABAMI/9oADAMAAAEAAgABAADP+f8AP91v' +
        'ut91vut91vut91vut91vut91vut91vut91vra91vut91vut91vut91vut91vut91vut91vut91vra91vut91vut9' +
        '1vut91vut91vut91vut91vut91vra91vut91vut91vut91vut91vut91vut91vut91vra91vut91vut91vut91vu' +
        't91vut91vut91vut91vra91vut91vut91vut91vut91vut91vut91vut914Ora91vut91vut91vut91vut91vut9' +
        '1vut91vut914Ora91vut91vut91vut91vut91vut91vut91vuvB11vra91vut91vut91vut91vut91vut91vut91' +
        'vuvB11vra91vut91vut91vut91vut91vut91vut914Out91vra91vut91vut91vut91vut91vut91vut914Out91' +
        'vra91vut91vut91vut91vut91vut91vuvB11vut91vra91vut91vut91vut91vut91vut91vuvB11vut91vra91v' +
        'ut91vut91vut91vut91vut914Out91vut91vra91vut91vut91vut91vut91vut914Out91vut91vra91vut91vu' +
        't91vut91vut91vut914Out91vut91v8A/9k=',
    ),
  },
  {
    name: 'JPEG-LS',
    syntax: '1.2.840.10008.1.2.4.80',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 0,
    frame: from(
      '/9j/9wALCAAQABABAREA/9oACAEBAAAAAIFBQUtH/dp//zumMjk220lRjVVV+hH/f7v/eif/fb//bf9/b/97f/9b' +
        '/3yf/2T/f1//a/99f/8A///Z',
    ),
  },
  {
    name: 'JPEG-LS of 12 bits',
    syntax: '1.2.840.10008.1.2.4.80',
    photometric: 'MONOCHROME2',
    pattern: 'deep',
    tolerance: 0,
    frame: from(
      '/9j/9wALEAAQABABAREA//gADQH//wASAEMBFABA/9oACAEBAAAAAKqtVaq1T1HT9N0vSdH0VQ1BT9PZTSmlJUVQ' +
        'U9nM1mMtlMlkMdjJTYrEYZCIJAf359fHt6eXh3Sk7Oro5uTi4N7c2tjW1NLQqLOzMrIyMbEwsLAwL68vLqoLq4uL' +
        'i2trTlw4btmzVqp7RozZs2TJixYsGDBgvZy9euXLly5atWrFitWrZqtUqVKlKlSyywwwwwzGF111111111llllmW' +
        'qqqqqqqqoooooooylFFFE001rWta1rZK1rUpSlKUpSlKZClKUpSkpSlKUpY6VVVVVVVVVVjKqqqqqqiIiMUA///Z',
    ),
  },
  {
    name: 'JPEG-LS in colour, by line',
    syntax: '1.2.840.10008.1.2.4.80',
    photometric: 'RGB',
    pattern: 'colour',
    tolerance: 0,
    frame: from(
      '/9j/9wARCAAQABADAREAAhEAAxEA/9oADAMBAAIAAwAAAQCFFWKtP7t3/3jSSlKV3d3VVWGniiirWta0pSlJjI5N' +
        'ttJUZSSSSSVUpQzFI7MzbbYY3/9//3KqlVVXtpJJVVTO/3+5VVVVUqqqqtW//2RVVVX3/3oyv/5lVV/3/3qiqr/m' +
        'VVX/P/8LIqq/5lVV/X/+sBYqv/kqqq+v/1MyV/9kqqqrr/98Bslf/xKqqq6//zalf/yVVVfX/3XOlV/+lVf+/3u9' +
        'qqq/5V/+/3tr2qqqv5V/+/9/2qqr/lVf+/9/wP/Z',
    ),
  },
  {
    name: 'JPEG-LS in colour, by plane',
    syntax: '1.2.840.10008.1.2.4.80',
    photometric: 'RGB',
    pattern: 'colour',
    tolerance: 0,
    frame: from(
      '/9j/9wARCAAQABADAREAAhEAAxEA/9oACAEBAAAAAIUVYq0/u3f/cxkcm22kqMaqqv0I/3/d/30T/37f/3b/f7f/' +
        'fb//bf9+T/9yf/8v/3X/fr//QP/aAAgBAgAAAACBQUFLR/3af/87ogikdibbbSCCSqqqqUqr/1CP/33f/3M//yJ/' +
        '/1v/ft//dv9/t/99v/9t/35P/3J//wD/2gAIAQMAAAAAgFAUBW2V1U0f93vORhmKR2Zm22w20kkqqplVVVVq/39H' +
        '/3q//ws//ywF/30zP/9wGz//Nr//Lnf/Xe//Nr3/f+//fwD//9k=',
    ),
  },
  {
    name: 'near-lossless JPEG-LS',
    syntax: '1.2.840.10008.1.2.4.81',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 2,
    frame: from(
      '/9j/9wALCAAQABABAREA/9oACAEBAAIAAJs23v9fpKVKsjSOlLRRVUV/UV//Vf9+Sf98/3//f8//f/9//3//f/9/' +
        'n/9//3z/2QA=',
    ),
  },
  {
    name: 'JPEG 2000',
    syntax: '1.2.840.10008.1.2.4.90',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 0,
    frame: from(
      '/0//UQApAAAAAAAQAAAAEAAAAAAAAAAAAAAAEAAAABAAAAAAAAAAAAABBwEB/1IADAAAAAEAAwQEAAH/XAANQEBI' +
        'SFBISFBISFD/ZAAqAAFDcmVhdGVkIGJ5IEdEQ00vT3BlbkpQRUcgdmVyc2lvbiAyLjUuMP+QAAoAAAAAAD8AAf+T' +
        '34AwB433PCrfw+oDg+cEDPrtCzzB84SB8gMAIhi3ewN/v8D5AkB8IgA2oZrHPaY0L//ZAA==',
    ),
  },
  {
    name: 'JPEG 2000 of 12 bits',
    syntax: '1.2.840.10008.1.2.4.90',
    photometric: 'MONOCHROME2',
    pattern: 'deep',
    tolerance: 0,
    frame: from(
      '/0//UQApAAAAAAAQAAAAEAAAAAAAAAAAAAAAEAAAABAAAAAAAAAAAAABDwEB/1IADAAAAAEAAwQEAAH/XAANQICI' +
        'iJCIiJCIiJD/ZAAqAAFDcmVhdGVkIGJ5IEdEQ00vT3BlbkpQRUcgdmVyc2lvbiAyLjUuMP+QAAoAAAAAAFkAAf+T' +
        '3/iQUAeBV1kTVMw3qxnAP2BIA/MEAAz7VUELPOR/wB+YLAD8AUAiGL34ywN/v09XwA/AKgA+0JA2oZq6VHl4mXq3' +
        'PaY0L/lUsDPd/9kA',
    ),
  },
  {
    name: 'JPEG 2000 in colour',
    syntax: '1.2.840.10008.1.2.4.90',
    photometric: 'YBR_RCT',
    pattern: 'colour',
    tolerance: 0,
    frame: from(
      '/0//UQAvAAAAAAAQAAAAEAAAAAAAAAAAAAAAEAAAABAAAAAAAAAAAAADBwEBBwEBBwEB/1IADAAAAAEAAwQEAAH/' +
        'XAANQEBISFBISFBISFD/ZAAqAAFDcmVhdGVkIGJ5IEdEQ00vT3BlbkpQRUcgdmVyc2lvbiAyLjUuMP+QAAoAAAAA' +
        'APMAAf+T34AoB4QFFXffgDAHjfe1e5/fgDAHi3vlFi/D6gKD5wQNAws8w+oDg+cGDPrtCzf9x9oLB84SPwBQDbH4' +
        'Rc8LgPp/EGt6fDPB84OB8gMAIhoTA3+/wfOEgfIEACIYt3sDfmGP35hUHziYfaFAIwt/uOZrVmTxDwNOo2/QFyrc' +
        '6yL8MVnoId+TgB3AfCJAfCIANqGFPz2mNC/A+QJAfCIANqGaxz2mLxfPwFY+0Vj8AsA5LLHkxoRWL0NTlLIKZ+hN' +
        'VKIFk885RbJ71iZ8mrn/JqrjY9kFuY0v5383B+n191m0JyWFL//ZAA==',
    ),
  },
  {
    name: 'JPEG 2000 with losses',
    syntax: '1.2.840.10008.1.2.4.91',
    photometric: 'MONOCHROME2',
    pattern: 'grey',
    tolerance: 6,
    frame: from(
      '/0//UQApAAAAAAAQAAAAEAAAAAAAAAAAAAAAEAAAABAAAAAAAAAAAAABBwEB/1IADAAAAAEAAwQEAAH/XAANQEBI' +
        'SFBISFBISFD/ZAAqAAFDcmVhdGVkIGJ5IEdEQ00vT3BlbkpQRUcgdmVyc2lvbiAyLjUuMP+QAAoAAAAAAD8AAf+T' +
        '34AwB433PCrfw+oDg+cEDPrtCzzB84SB8gMAIhi3ewN/v8D5AkB8IgA2oZrHPaY0L//ZAA==',
    ),
  },
];

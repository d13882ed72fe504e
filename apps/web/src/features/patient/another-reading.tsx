/** Under the next step, while the last reading is a toss-up: what another one would bring. */
import { useCallback, useMemo, type ReactNode } from 'react';
import { anotherReadingSentence, theirs, whole, whyAnotherReading } from '@ebbline/core/present';
import { openReading, type PatientFacts } from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import { Why } from '../../shared/bedside/why.tsx';
import { Plate } from '../../shared/plate.tsx';

export function AnotherReadingPlate({
  facts,
  zone,
  directory,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const open = useMemo(() => openReading(facts), [facts]);
  const explain = useCallback(
    () => (open === undefined ? undefined : whyAnotherReading(open, facts, zone, directory, open.entryId)),
    [directory, facts, open, zone],
  );
  if (open === undefined) return null;
  return (
    <Plate title="The last reading leaves it open">
      <div data-another-reading="">
        <p className="speak">
          {whole(open.volumeMl)} mL is so near {theirs(facts)} limit of {whole(open.lineMl)} mL that about{' '}
          {Math.round(open.otherSideProbability * 10)} in 10 the truth is on the other side.{' '}
          {anotherReadingSentence(open)}
        </p>
        <Why of="What another reading would bring" explain={explain} />
      </div>
    </Plate>
  );
}

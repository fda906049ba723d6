using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Decides, for a block that was measured, what recording it makes.</summary>
internal static class RecordingPlanner
{
    /// <summary>Null: faults say why there can be none.</summary>
    public static PlannedRecording? Of(BlockSurvey block, ImportPlan plan, LabelPlan labels, bool bySamples, bool single, FaultList faults)
    {
        var map = plan.Map;
        if (bySamples && !block.IsWhole)
        {
            faults.Add(block.FirstLine, 0, "rows of other recordings among those of this one", "rows that follow one another, since labels go by sample numbers", "give the labels times, or part the file before");
            return null;
        }
        if (bySamples && map.Resample is not null)
        {
            faults.Add(block.FirstLine, 0, "labels by sample numbers with resample", "labels with times, or samples as they are");
            return null;
        }
        if (Rate(block, map, faults) is not { } rate || Placed(block, map, rate, faults) is not { } placing) { return null; }
        long samples = placing == Placing.Resampled ? HermiteStage.SamplesIn(block.Times!.SpanNs, rate) : block.Samples;
        if (samples > MotionTable.MostSamples)
        {
            faults.Add(block.FirstLine, 0, $"{samples} samples in one recording", $"at most {MotionTable.MostSamples}", "part the file with split_by");
            return null;
        }
        return new(block)
        {
            Name = "",
            FirstLine = block.FirstLine,
            LastLine = block.LastLine,
            Key = block.Block.Key.Split('\u001f', StringSplitOptions.RemoveEmptyEntries),
            Because = block.Block.Cause switch
            {
                BreakCause.Gap => "a gap before it",
                BreakCause.Doubled => "the same time twice before it",
                BreakCause.Backward => "time jumps back before it",
                BreakCause.BadRow => "a row that cannot be read before it",
                _ => "",
            },
            Rows = block.Samples,
            Samples = samples,
            Rate = rate,
            Placing = placing,
            Origin = new(block.FirstNs),
            Labels = labels.Of(block, rate, placing, samples),
            MeanMagnitudeG = plan.Channels.Any(c => ColumnUse.IsAcceleration(c.Channel)) ? block.MagnitudeSum / block.Samples : null,
            KeepsClock = plan.IsNative && single && placing == Placing.Stamps,
        };
    }

    public static IEnumerable<string> Doubts(IReadOnlyList<PlannedRecording> recordings, ImportPlan plan)
    {
        int evened = recordings.Count(r => r.Placing == Placing.Evened);
        if (evened > 0)
        {
            string which = recordings.Count == 1 ? "the stamps jitter" : $"in {evened} of {recordings.Count} recordings the stamps jitter";
            yield return $"{which}, but no sample is farther than half a step (and what the stamps resolve) from its even place: the samples are placed evenly, without stamps";
        }
        if (plan.Steps is { } steps && !steps.Uneven && steps.ResolutionNs > steps.NominalNs / 2 && recordings.Any(r => r.Survey.Times is { IsConstant: false }))
        {
            yield return $"stamps resolve {new StimulusTime(steps.ResolutionNs)}, the samples are {new StimulusTime((long)steps.NominalNs)} apart: a lost sample can hide between two stamps";
        }
        if (plan.Map.Reading.Time is { Bits: > 0 } ticks && plan.Steps is not null)
        {
            var turn = new StimulusTime((long)decimal.Round(ticks.UnitNs * (1UL << ticks.Bits)));
            yield return $"the {ticks.Bits}-bit counter turns over every {turn}: a gap longer than half of that cannot be told from a shorter one";
        }
    }

    private static SampleRate? Rate(BlockSurvey block, ImportMap map, FaultList faults)
    {
        if ((map.Resample ?? map.Rate) is { } stated) { return stated; }
        if (block.Times is not { Count: > 1 } times)
        {
            faults.Add(0, 0, "no sample rate", "a rate or a column of stamps", "say --rate 50 Hz (or what it is), or which column is t");
            return null;
        }
        double milliHertz = Math.Round(1e12 / times.MeanStepNs);
        if (milliHertz is >= 1 and <= 1e10) { return new((long)milliHertz); }
        faults.Add(block.FirstLine, 0, $"samples {new StimulusTime((long)times.MeanStepNs)} apart", "a rate from 1 mHz to 10 MHz", "check the unit of the time column");
        return null;
    }

    private static Placing? Placed(BlockSurvey block, ImportMap map, SampleRate rate, FaultList faults)
    {
        if (block.Times is not { } times) { return Placing.ByRate; }
        double step = 1e12 / rate.MilliHertz;
        if (map.Resample is not null)
        {
            // A little below the log's own mean rate loses nothing that its jitter has not lost.
            if (times.Count == 1 || step <= times.MeanStepNs * 1.1) { return Placing.Resampled; }
            faults.Add(block.FirstLine, 0, $"resample to {rate}, while the log has {new SampleRate((long)Math.Max(1, Math.Round(1e12 / times.MeanStepNs)))}", "at least the log's own rate: interpolation is no filter", "import at that rate; a scenario resamples with one");
            return null;
        }
        if (times.KeepsRule(step)) { return Placing.Stamps; }
        if (times.IsEven(step)) { return Placing.Evened; }
        faults.Add(times.WorstLine(step), 0, "a sample farther than half a step from its even place",
            map.Rate is null ? $"even samples, at the mean rate of the stamps, {rate}" : $"even samples at the stated rate of {rate}; the stamps have {1e9 / times.MeanStepNs:0.###} Hz",
            map.Rate is null ? "say --resample RATE to even them out" : "correct the rate, or say --resample RATE");
        return null;
    }
}

using System.Collections;
using HilRunner.Core.Files;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Values;

/// <summary>Samples at a rail (<see cref="Rails"/>): how many, and their largest share of a class's samples. Beyond the stated range is a finding of its own.</summary>
internal sealed class ClippingCheck : IRecordingCheck
{
    public string Name => "clipping";

    public CheckResult Of(InspectionContext context)
    {
        var recording = context.Recording;
        var report = new CheckReport(Name);
        var places = new PlaceList();
        var clipped = new BitArray(recording.SampleCount);
        var axes = new List<string>();
        double beyond = 0;
        var acceleration = new Rails([.. recording.Channels.Where((_, c) => InspectionContext.IsAcceleration(recording.ChannelNames[c]))], recording.Info.RangeG, acceleration: true);
        var gyro = new Rails([.. recording.Channels.Where((_, c) => !InspectionContext.IsAcceleration(recording.ChannelNames[c]))], null, acceleration: false);
        for (int c = 0; c < recording.Channels.Count; c++)
        {
            string name = recording.ChannelNames[c];
            bool isAcceleration = InspectionContext.IsAcceleration(name);
            double? stated = isAcceleration ? recording.Info.RangeG : null;
            var (low, high) = (isAcceleration ? acceleration : gyro).Of(recording.Channels[c]);
            long count = Mark(recording.Channels[c], low, high, clipped);
            report.Figure($"clipped_{name}", count, "samples");
            if (count > 0) { axes.Add($"{name} {count}"); }
            if (stated is { } range)
            {
                foreach (double v in recording.Channels[c]) { if (Math.Abs(v) > beyond && Math.Abs(v) > range * (1 + Thresholds.ClippedRail.Value)) { beyond = Math.Abs(v); } }
            }
        }
        long samples = Places(context, clipped, places);
        var (share, of) = WorstShare(context, clipped, samples);
        var figure = report.Figure("clipped_share", share, $"of {of}");
        string text = $"{Say.Count(samples, "sample")} at the end of the range ({string.Join(", ", axes)}), {Say.Share(share)} of {of}";
        if (samples > 0)
        {
            report.Find("clipping", share > Thresholds.ClippedUnfit.Value ? Fitness.Unfit : Fitness.WithCare, text, figure,
                "record again with a larger range; until then do not trust peaks, ranges or deviations of these stretches", places);
        }
        if (beyond > 0)
        {
            var most = report.Figure("largest_g", beyond, "g");
            report.Find("beyond_range", Fitness.WithCare, $"{Say.G(beyond)} with a stated range of {Say.G(recording.Info.RangeG!.Value)}", most, "correct the range in the side file, or the unit in the header");
        }
        return report.Done(samples > 0 ? text : recording.Info.RangeG is { } r ? $"none at {Say.G(r)}" : "none seen (no range is stated)");
    }

    private static long Mark(Series<double> values, double low, double high, BitArray clipped)
    {
        long count = 0;
        for (int i = 0; i < values.Length; i++)
        {
            double value = values[i];
            if (!(value >= high || value <= low)) { continue; }
            clipped[i] = true;
            count++;
        }
        return count;
    }

    private static long Places(InspectionContext context, BitArray clipped, PlaceList places)
    {
        long samples = 0;
        for (int i = 0; i < clipped.Length; i++)
        {
            if (!clipped[i]) { continue; }
            int from = i;
            while (i + 1 < clipped.Length && clipped[i + 1]) { i++; }
            samples += i + 1 - from;
            places.Add(context.Axis.At(from), context.Axis.AtOrEnd(i + 1));
        }
        return samples;
    }

    private static (double Share, string Of) WorstShare(InspectionContext context, BitArray clipped, long samples)
    {
        (double share, string of) = ((double)samples / clipped.Length, "the samples");
        foreach (var segments in context.Segments.ByClass)
        {
            long all = 0, bad = 0;
            foreach (var s in segments.Value)
            {
                all += s.To - s.From;
                for (int i = s.From; i < s.To; i++) { bad += clipped[i] ? 1 : 0; }
            }
            if (all > 0 && (double)bad / all > share) { (share, of) = ((double)bad / all, $"{segments.Key}"); }
        }
        return (share, of);
    }
}

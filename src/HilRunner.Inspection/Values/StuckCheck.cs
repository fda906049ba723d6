using HilRunner.Core.Files;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Values;

/// <summary>
/// Rows of exact zeros on all axes of acceleration; all channels frozen (every value as the one before); one axis of acceleration that does not
/// change while another moves by at least ten of its own quantisation steps. A sensor at rest whose noise stays below one step also freezes: such a recording is usable with care.
/// </summary>
internal sealed class StuckCheck : IRecordingCheck
{
    /// <summary>However slow the rate, so many equal values in a row are needed.</summary>
    private const int LeastSamples = 10;

    /// <summary>In a coarser grid an axis that hardly moves looks stuck.</summary>
    private const int LeastSteps = 10;

    public string Name => "stuck values";

    public CheckResult Of(InspectionContext context)
    {
        var report = new CheckReport(Name);
        Zeros(context, report);
        Frozen(context, report);
        OneAxis(context, report);
        return report.Done(report.Findings.Count == 0 ? "none" : string.Join("; ", report.Findings.Select(f => f.What)));
    }

    private static void Zeros(InspectionContext context, CheckReport report)
    {
        if (context.Acceleration is not { } a) { return; }
        var places = new PlaceList();
        long rows = Runs(context, (int)Thresholds.ZeroRows.Value, i => a[0][i] == 0 && a[1][i] == 0 && a[2][i] == 0, places, from: 0);
        var figure = report.Figure("zero_rows", rows, "rows");
        if (rows == 0) { return; }
        report.Find("zero_rows", rows > Thresholds.StuckUnfit.Value * context.Recording.SampleCount ? Fitness.Unfit : Fitness.WithCare,
            $"{Say.Count(rows, "row")} of zeros, the first at {Say.At(places.First[0].FromNs)}", figure, "cut them off: the sensor was not on yet, or was lost", places);
    }

    private static void Frozen(InspectionContext context, CheckReport report)
    {
        Series<double>[] all = [.. context.Recording.Channels];
        var places = new PlaceList();
        int least = Math.Max(LeastSamples, (int)Math.Ceiling(Thresholds.FrozenTime.Value * context.RateHz));
        long samples = Runs(context, least, i => Repeats(all, i) && !IsZero(context.Acceleration, i), places, from: 1);
        var figure = report.Figure("frozen_s", samples / context.RateHz, "s");
        if (samples == 0) { return; }
        report.Find("frozen", samples > Thresholds.StuckUnfit.Value * context.Recording.SampleCount ? Fitness.Unfit : Fitness.WithCare,
            $"no value changes for {Say.Seconds(samples / context.RateHz)} in all, first at {Say.At(places.First[0].FromNs)}", figure,
            "look whether the sensor or its log hung there and cut it out; if the device only lay still, its resolution hides its noise", places);
    }

    private static void OneAxis(InspectionContext context, CheckReport report)
    {
        if (context.Acceleration is not { } a) { return; }
        var places = new PlaceList();
        int least = Math.Max(LeastSamples, (int)Math.Ceiling(Thresholds.StuckAxisTime.Value * context.RateHz));
        long samples = 0;
        var axes = new SortedSet<string>(StringComparer.Ordinal);
        for (int axis = 0; axis < 3; axis++)
        {
            var values = a[axis];
            double motion = Math.Max(Thresholds.StuckAxisMotion.Value, LeastSteps * (QuantisationCheck.StepOf(values) ?? 0));
            for (int i = 1; i < values.Length; i++)
            {
                if (values[i] != values[i - 1]) { continue; }
                int from = i - 1;
                while (i + 1 < values.Length && values[i + 1] == values[i]) { i++; }
                if (i + 1 - from < least || !Moves(a, axis, from, i + 1, motion)) { continue; }
                samples += i + 1 - from;
                axes.Add("a" + "xyz"[axis]);
                places.Add(context.Axis.At(from), context.Axis.AtOrEnd(i + 1));
            }
        }
        var figure = report.Figure("stuck_axis_s", samples / context.RateHz, "s");
        if (samples == 0) { return; }
        report.Find("stuck_axis", Fitness.Unfit, $"{string.Join(", ", axes)} does not change while another axis moves: {Say.Seconds(samples / context.RateHz)}", figure,
            "look at the sensor, its bus and the column of the log; cut the stretch out", places);
    }

    private static bool Moves(Series<double>[] a, int axis, int from, int to, double motion) =>
        Enumerable.Range(0, 3).Any(other => other != axis && DeviationOf(a[other], from, to) > motion);

    private static double DeviationOf(Series<double> values, int from, int to)
    {
        double sum = 0, squares = 0, first = values[from];
        for (int i = from; i < to; i++)
        {
            double off = values[i] - first;
            sum += off;
            squares += off * off;
        }
        return Math.Sqrt(Math.Max(0, squares / (to - from) - sum / (to - from) * (sum / (to - from))));
    }

    private static bool IsZero(Series<double>[]? a, int i) => a is not null && a[0][i] == 0 && a[1][i] == 0 && a[2][i] == 0;

    private static bool Repeats(Series<double>[] channels, int i)
    {
        foreach (var c in channels) { if (c[i] != c[i - 1]) { return false; } }
        return true;
    }

    /// <summary>Runs of at least so many samples for which something holds; their samples in all.</summary>
    private static long Runs(InspectionContext context, int least, Func<int, bool> holds, PlaceList places, int from)
    {
        long samples = 0;
        int count = context.Recording.SampleCount;
        for (int i = from; i < count; i++)
        {
            if (!holds(i)) { continue; }
            int start = i;
            while (i + 1 < count && holds(i + 1)) { i++; }
            if (i + 1 - start < least) { continue; }
            samples += i + 1 - start;
            places.Add(context.Axis.At(start), context.Axis.AtOrEnd(i + 1));
        }
        return samples;
    }
}

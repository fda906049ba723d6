using HilRunner.Core.Runs;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Axis;

/// <summary>Everything on the time axis of one run, computed once for the drawing in the file and for the script.</summary>
internal sealed class AxisModel
{
    /// <summary>Class of a stretch in which the output changed too fast to keep each change in the page.</summary>
    public const int Fast = -2;

    /// <summary>So many strips and differences are embedded per output; beyond, neighbours are put together.</summary>
    public const int MostSteps = 40_000;

    public AxisModel(StoredRun run, ClassColours colours)
    {
        Run = run;
        Colours = colours;
        Channels = [.. run.Motion.Select(m => Channel.Of(m.Key, m.Value))];
        Channels = [.. Channels.Select(Ranged)];
        Lateness = Lateness.Of(run);
        var names = run.Score.Outputs.Select(o => o.Output).Concat(run.Decisions.Select(d => d.Output)).Distinct();
        Outputs = [.. names.Select(name => new AxisOutput(name, ObservedTimeline.Of(run, name), run.Score.Outputs.FirstOrDefault(o => o.Output == name)?.Trials ?? []))];
        Incidents = [.. run.Incidents.Where(i => i.At is not null).OrderBy(i => i.At!.Value)];
    }

    public StoredRun Run { get; }
    public ClassColours Colours { get; }
    /// <summary>In the order of the device's input channels.</summary>
    public IReadOnlyList<Channel> Channels { get; }
    /// <summary>Null: nothing was due (the device set the pace), or no playout is known.</summary>
    public Lateness? Lateness { get; }
    public IReadOnlyList<AxisOutput> Outputs { get; }
    /// <summary>Those that have a place on the axis.</summary>
    public IReadOnlyList<RunIncident> Incidents { get; }

    /// <summary>The steps of an output as (start, class index); changes that follow each other too fast to keep are one stretch.</summary>
    public IReadOnlyList<(long StartNs, int Class)> Embedded(ObservedTimeline timeline, int most)
    {
        var steps = timeline.Steps;
        if (steps.Count <= most) { return [.. steps.Select(s => (s.StartNs, Colours.IndexOf(s.Class)))]; }
        long quantum = Run.End.Ns / (most / 2) + 1;
        var kept = new List<(long, int)>();
        for (int i = 0; i < steps.Count; i++)
        {
            long end = i + 1 < steps.Count ? steps[i + 1].StartNs : Run.End.Ns;
            int index = end - steps[i].StartNs < quantum ? Fast : Colours.IndexOf(steps[i].Class);
            if (index == Fast && kept.Count > 0 && kept[^1].Item2 == Fast) { continue; }
            kept.Add((steps[i].StartNs, index));
        }
        return kept;
    }

    /// <summary>The differences of an output; where there are too many to keep, those nearest to each other are joined.</summary>
    public IReadOnlyList<Difference> Embedded(IReadOnlyList<Difference> differences, int most)
    {
        if (differences.Count <= most) { return differences; }
        long quantum = Run.End.Ns / (most / 2) + 1;
        var kept = new List<Difference>();
        foreach (Difference d in differences)
        {
            if (kept.Count > 0 && d.StartNs - kept[^1].EndNs < quantum && d.EndNs - kept[^1].StartNs < 2 * quantum)
            {
                kept[^1] = new(kept[^1].StartNs, d.EndNs, kept[^1].InGrace && d.InGrace);
                continue;
            }
            kept.Add(d);
        }
        return kept;
    }

    /// <summary>
    /// The range a channel is drawn over: its own, but never less than a tenth of the widest one of its unit, so that the noise of a
    /// quiet channel does not fill its lane.
    /// </summary>
    private Channel Ranged(Channel channel)
    {
        if (double.IsNaN(channel.Low)) { return channel with { Low = -1, High = 1 }; }
        double widest = Channels.Where(c => c.Unit == channel.Unit && !double.IsNaN(c.Low)).Max(c => c.High - c.Low);
        double half = Math.Max((channel.High - channel.Low) / 2, widest / 20) * 1.06;
        if (half == 0) { half = 1; }
        double middle = channel.Low + (channel.High - channel.Low) / 2;
        return channel with { Low = middle - half, High = middle + half };
    }
}

internal sealed record AxisOutput(string Name, ObservedTimeline Timeline, IReadOnlyList<TrialScore> Trials);

/// <summary>One channel of motion. <paramref name="Low"/> and <paramref name="High"/> are the drawn range.</summary>
internal sealed record Channel(string Name, string Unit, double[] Samples, double Low, double High)
{
    public static Channel Of(string name, double[] samples)
    {
        var (low, high) = MinMax.Range(samples);
        string unit = name.StartsWith('a') ? "g" : name.StartsWith('g') ? "°/s" : "";
        return new(name, unit, samples, low, high);
    }
}

/// <summary>How late samples went out: worst of each bucket over the stimulus, in ms, and all single values for the distribution.</summary>
internal sealed record Lateness(int SamplesPerBucket, double[] WorstMs, long[] SortedNs)
{
    private const int Buckets = 4_000;

    public static Lateness? Of(StoredRun run)
    {
        var due = run.Playout.Where(p => p.DueNs is not null).ToList();
        if (due.Count == 0) { return null; }
        long[] sorted = [.. due.Select(LateNs).Order()];
        long samples = Math.Max(1, run.Manifest.Rate.SamplesBefore(run.End));
        int per = (int)Math.Max(1, (samples + Buckets - 1) / Buckets);
        var worst = new double[(int)((samples + per - 1) / per)];
        Array.Fill(worst, double.NaN);
        foreach (PlayoutRow row in due)
        {
            if (row.N < 0 || row.N >= samples) { continue; }
            ref double bucket = ref worst[(int)(row.N / per)];
            double ms = LateNs(row) / 1e6;
            if (!(bucket >= ms)) { bucket = ms; }
        }
        return new(per, worst, sorted);
    }

    private static long LateNs(PlayoutRow row) => row.ActualNs - row.DueNs!.Value;
}

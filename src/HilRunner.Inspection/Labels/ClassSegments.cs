namespace HilRunner.Inspection.Labels;

/// <summary>A label, cut to the recording: samples [From, To), at least one.</summary>
internal readonly record struct Segment(string Class, int From, int To, long StartNs, long EndNs);

/// <summary>The labels that have samples, by class.</summary>
internal sealed class ClassSegments
{
    /// <summary>Classes that are looked at one by one; of more, the longest.</summary>
    public const int MostJudged = 200;

    /// <summary>
    /// Labels that overlap may hold the same samples again and again. What they hold in all is limited to so many times the
    /// recording, or to so many samples; labels beyond are only checked for their places.
    /// </summary>
    private const int MostTimes = 10, MostSamples = 10_000_000;

    private ClassSegments(IReadOnlyList<Segment> all)
    {
        All = all;
        ByClass = all.GroupBy(s => s.Class).ToDictionary(g => g.Key, g => (IReadOnlyList<Segment>)[.. g], StringComparer.Ordinal);
    }

    /// <summary>By start.</summary>
    public IReadOnlyList<Segment> All { get; }
    public IReadOnlyDictionary<string, IReadOnlyList<Segment>> ByClass { get; }

    public static ClassSegments Of(InspectionContext context)
    {
        var all = new List<Segment>();
        long held = 0;
        foreach (var label in context.Recording.Labels)
        {
            long start = Math.Max(0, label.StartNs), end = Math.Min(context.Axis.EndNs, label.EndNs);
            int from = context.Axis.IndexOf(start), to = context.Axis.IndexOf(end);
            if (end <= start || to <= from) { continue; }
            held += to - from;
            if (held > Math.Max(MostSamples, (long)MostTimes * context.Axis.Count)) { break; }
            all.Add(new(label.Class, from, to, start, end));
        }
        all.Sort((a, b) => (a.StartNs, a.EndNs).CompareTo((b.StartNs, b.EndNs)));
        return new(all);
    }

    /// <summary>Nanoseconds of a class's segments.</summary>
    public long NsOf(string name) => ByClass[name].Sum(s => s.EndNs - s.StartNs);
}

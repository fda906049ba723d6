namespace HilRunner.Inspection.Labels;

/// <summary>A label, cut to the recording: samples [From, To), at least one.</summary>
internal readonly record struct Segment(string Class, int From, int To, long StartNs, long EndNs);

/// <summary>The labels that have samples, by class.</summary>
internal sealed class ClassSegments
{
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
        foreach (var label in context.Recording.Labels)
        {
            long start = Math.Max(0, label.StartNs), end = Math.Min(context.Axis.EndNs, label.EndNs);
            int from = context.Axis.IndexOf(start), to = context.Axis.IndexOf(end);
            if (end > start && to > from) { all.Add(new(label.Class, from, to, start, end)); }
        }
        all.Sort((a, b) => (a.StartNs, a.EndNs).CompareTo((b.StartNs, b.EndNs)));
        return new(all);
    }

    /// <summary>Nanoseconds of a class's segments.</summary>
    public long NsOf(string name) => ByClass[name].Sum(s => s.EndNs - s.StartNs);
}

using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Labels;

/// <summary>
/// Does the motion of a segment look like the rest of its class? Per segment the median of its windows' features is held against the
/// windows of the class's other segments: d = √(mean over features of ((m − median) ÷ s)²), with s the median absolute deviation × 1.4826,
/// but at least a tenth of the same over all windows of the recording and a floor in g (what does not tell classes apart does not count). The same
/// distance to every other class tells whether it looks like that one. A class of fewer than three segments is not judged. Many segments of a class (over 200) are held against the class as a whole.
/// </summary>
internal sealed class LabelFitCheck : IRecordingCheck
{
    private const int MostLeftOut = 200;
    private const double LeastSpread = 0.1;

    public string Name => "labels against motion";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Segments.All.Count == 0) { return CheckResult.NotJudged(Name, "no labels"); }
        if (FeatureSpace.Of(context, out string why) is not { } space) { return CheckResult.NotJudged(Name, why); }
        var segments = context.Segments.All.Where(s => !context.Options.Momentary.Contains(s.Class) && !context.Options.Unscored.Contains(s.Class))
            .Select(s => new Windowed(s, space.Windows(context, s))).Where(s => s.Rows.Count > 0).ToList();
        if (segments.Count == 0) { return CheckResult.NotJudged(Name, "no segment holds a window"); }
        double[] floors = space.LeastSpreads();
        var everything = Cloud.Of(segments.SelectMany(s => s.Rows), floors);
        for (int f = 0; f < floors.Length; f++) { floors[f] = Math.Max(floors[f], LeastSpread * everything.Spread[f]); }
        var classes = segments.GroupBy(s => s.Segment.Class).ToDictionary(g => g.Key, g => g.ToList(), StringComparer.Ordinal);
        var clouds = classes.ToDictionary(c => c.Key, c => Cloud.Of(c.Value.SelectMany(s => s.Rows), floors), StringComparer.Ordinal);
        var others = clouds.OrderByDescending(c => c.Value.Count)
            .ThenBy(c => c.Key, StringComparer.Ordinal).Take(ClassSegments.MostJudged).ToList();
        var report = new CheckReport(Name);
        double worst = 0;
        int judged = 0;
        var worstFinding = new PlaceList();
        var odd = new List<(double Distance, string What)>();
        foreach (var (name, own) in classes)
        {
            foreach (var segment in own)
            {
                if (Rest(own, segment, clouds[name], floors) is not { } rest) { continue; }
                judged++;
                double[] median = segment.Median();
                double distance = rest.Distance(median);
                worst = Math.Max(worst, distance);
                var (nearest, other) = Nearest(others, name, median);
                bool nearer = distance > Thresholds.LabelDistance.Value && other < Thresholds.LabelNearer.Value * distance;
                if (!nearer && distance <= Thresholds.LabelFar.Value) { continue; }
                worstFinding.Add(segment.Segment.StartNs, segment.Segment.EndNs);
                string looks = nearer ? $"looks like {nearest} ({Say.Number(other)})" : "looks like no other class";
                odd.Add((distance, $"{name} at {Say.At(segment.Segment.StartNs)} is {Say.Number(distance)} robust deviations from the rest of its class and {looks}"));
            }
        }
        if (judged == 0) { return CheckResult.NotJudged(Name, "no class has three segments and enough windows to hold one against the others"); }
        var figure = report.Figure("farthest", worst, "robust deviations");
        report.Figure("segments_judged", judged, "");
        if (odd.Count > 0)
        {
            odd.Sort((a, b) => b.Distance.CompareTo(a.Distance));
            string more = odd.Count > 1 ? $" (and {odd.Count - 1} more)" : "";
            report.Find("label_unlike", Fitness.WithCare, odd[0].What + more, figure, "look at these stretches: a wrong label, a shifted one, or a rare way of doing it that deserves more recordings", worstFinding);
        }
        return report.Done(odd.Count > 0 ? odd[0].What : $"{Say.Count(judged, "segment")} like their class, the farthest {Say.Number(worst)} robust deviations off");
    }

    private static Cloud? Rest(List<Windowed> own, Windowed segment, Cloud whole, double[] floors)
    {
        if (own.Count > MostLeftOut) { return whole; }
        var rest = own.Where(s => !ReferenceEquals(s, segment)).SelectMany(s => s.Rows).ToList();
        return own.Count > Thresholds.LabelSegments.Value && rest.Count >= Thresholds.LabelWindows.Value ? Cloud.Of(rest, floors) : null;
    }

    private static (string Class, double Distance) Nearest(List<KeyValuePair<string, Cloud>> clouds, string own, double[] median)
    {
        (string, double) nearest = ("", double.PositiveInfinity);
        foreach (var (name, cloud) in clouds)
        {
            if (name == own || cloud.Count < Thresholds.LabelWindows.Value) { continue; }
            double distance = cloud.Distance(median);
            if (distance < nearest.Item2) { nearest = (name, distance); }
        }
        return nearest;
    }

    private sealed record Windowed(Segment Segment, List<double[]> Rows)
    {
        public double[] Median() => [.. Enumerable.Range(0, Rows[0].Length).Select(f => Statistics.Median(Rows.Select(r => r[f])))];
    }

    /// <summary>The windows of a class: median and spread of each feature.</summary>
    private sealed record Cloud(int Count, double[] Middle, double[] Spread)
    {
        public static Cloud Of(IEnumerable<double[]> rows, double[] floors)
        {
            double[][] all = [.. rows];
            var middle = new double[all[0].Length];
            var spread = new double[middle.Length];
            for (int f = 0; f < middle.Length; f++)
            {
                double[] column = Array.ConvertAll(all, r => r[f]);
                middle[f] = Statistics.Median(column);
                spread[f] = Math.Max(floors[f], Statistics.Deviation(column, middle[f]));
            }
            return new(all.Length, middle, spread);
        }

        public double Distance(double[] point)
        {
            double sum = 0;
            for (int f = 0; f < point.Length; f++)
            {
                double off = (point[f] - Middle[f]) / Spread[f];
                sum += off * off;
            }
            return Math.Sqrt(sum / point.Length);
        }
    }
}

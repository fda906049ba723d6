using System.Text;
using HilRunner.Core.Time;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.ComparePage;

/// <summary>A trial on one time axis: the motion, what was expected, what each build said; hatched where it was not what was expected.</summary>
internal static class ChangedTrialSvg
{
    private const int Width = 900, Left = 90, Strip = 20, Gap = 4, MotionHeight = 60;
    private const long MarginNs = 3 * StimulusTime.NsPerSecond;

    /// <param name="number">Tells its parts from those of the other drawings of the page.</param>
    public static Markup Draw(ChangedTrial changed, int number)
    {
        var trial = changed.Pair.Candidate[0].Trial;
        long from = Math.Max(0, trial.StartNs - MarginNs), to = Math.Min(changed.Candidate.End.Ns, trial.EndNs + MarginNs);
        var colours = new ClassColours(changed.Candidate);
        var svg = new StringBuilder();
        double X(long ns) => Left + (double)(Math.Clamp(ns, from, to) - from) / Math.Max(1, to - from) * (Width - Left);
        int y = 0;
        if (changed.Candidate.Motion.Count > 0) { Motion(svg, changed.Candidate, from, to, X); y = MotionHeight + Gap; }
        var reference = changed.Candidate.Reference.Select(r => (From: r.Start.Ns, To: r.End.Ns, r.Class)).ToList();
        Row(svg, "expected", y, reference, colours, X, from, to);
        y = Observed(svg, number, "baseline", y + Strip + Gap, changed.Baseline, changed.Pair.Output, reference, colours, X, from, to);
        y = Observed(svg, number, "candidate", y, changed.Candidate, changed.Pair.Output, reference, colours, X, from, to);
        foreach (long at in (long[])[trial.StartNs, trial.EndNs]) { svg.Append(Invariant($"<line class=\"onset\" x1=\"{X(at):0.0}\" x2=\"{X(at):0.0}\" y1=\"0\" y2=\"{y - Gap}\"/>")); }
        foreach (long at in (long[])[from, trial.StartNs, trial.EndNs, to])
        {
            string anchor = at == to ? "end" : at == from ? "begin" : "";
            svg.Append(Invariant($"<text class=\"tick-label {anchor}\" x=\"{X(at):0.0}\" y=\"{y + 12}\">{at / 1e9:0.##} s</text>"));
        }
        string label = HtmlText.Escape(Invariant($"{changed.Pair.Scenario}, {changed.Pair.Class} from {trial.StartNs / 1e9:0.##} to {trial.EndNs / 1e9:0.##} s: expected, baseline, candidate"));
        return new(Invariant($"<div class=\"still-frame\" tabindex=\"0\" role=\"region\" aria-label=\"{label}\"><svg class=\"still\" viewBox=\"0 0 {Width} {y + 18}\" role=\"img\" aria-label=\"{label}\"><defs><pattern id=\"differs-{number}\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"1.6\" height=\"5\" class=\"ink\"/></pattern></defs>{svg}</svg></div>\n"));
    }

    private static int Observed(
        StringBuilder svg, int number, string name, int y, StoredRun run, string output, List<(long From, long To, string Class)> reference, ClassColours colours, Func<long, double> x, long from, long to)
    {
        var timeline = ObservedTimeline.Of(run, output);
        var steps = timeline.Steps.Select((s, i) => (From: s.StartNs, To: i + 1 < timeline.Steps.Count ? timeline.Steps[i + 1].StartNs : run.End.Ns, s.Class)).ToList();
        Row(svg, name, y, steps, colours, x, from, to);
        foreach (var d in timeline.Differences.Where(d => d.EndNs > from && d.StartNs < to))
        {
            svg.Append(Invariant($"<rect x=\"{x(d.StartNs):0.0}\" y=\"{y + Strip - 6}\" width=\"{Math.Max(0.8, x(d.EndNs) - x(d.StartNs)):0.0}\" height=\"6\" fill=\"url(#differs-{number})\"/>"));
        }
        foreach (var mark in timeline.Events.Where(e => e.AtNs >= from && e.AtNs < to))
        {
            svg.Append(Invariant($"<circle class=\"event{(mark.Hit ? "" : " false-alarm")}\" cx=\"{x(mark.AtNs):0.0}\" cy=\"{y + Strip / 2}\" r=\"4\" fill=\"{Fill(colours.IndexOf(mark.Class))}\"/>"));
        }
        return y + Strip + Gap;
    }

    private static void Row(StringBuilder svg, string name, int y, List<(long From, long To, string Class)> stretches, ClassColours colours, Func<long, double> x, long from, long to)
    {
        svg.Append(Invariant($"<text class=\"label\" x=\"0\" y=\"{y + 14}\">{name}</text><rect class=\"lane\" x=\"{Left}\" y=\"{y}\" width=\"{Width - Left}\" height=\"{Strip}\"/>"));
        foreach (var s in stretches.Where(s => s.To > from && s.From < to))
        {
            int index = colours.IndexOf(s.Class);
            if (index < 0) { continue; }
            double left = x(s.From), width = x(s.To) - left;
            svg.Append(Invariant($"<rect x=\"{left:0.0}\" y=\"{y}\" width=\"{width:0.0}\" height=\"{Strip}\" fill=\"{Fill(index)}\"/>"));
            if (width > 8 * s.Class.Length) { svg.Append(Invariant($"<text class=\"in-strip\" x=\"{left + 4:0.0}\" y=\"{y + 14}\" fill=\"{ClassColours.At(index).Ink}\">{HtmlText.Escape(s.Class)}</text>")); }
        }
    }

    private static void Motion(StringBuilder svg, StoredRun run, long from, long to, Func<long, double> x)
    {
        var axes = run.Motion.Where(m => m.Key.StartsWith('a')).Select(m => m.Value).ToList();
        if (axes.Count == 0) { return; }
        int first = (int)run.Manifest.Rate.SamplesBefore(new(from)), last = (int)Math.Min(axes[0].Length, run.Manifest.Rate.SamplesBefore(new(to)));
        if (last - first < 2) { return; }
        double[] size = [.. Enumerable.Range(first, last - first).Select(n => Math.Sqrt(axes.Sum(a => a[n] * a[n])))];
        double low = size.Min(), high = Math.Max(size.Max(), low + 0.1);
        int step = Math.Max(1, size.Length / 900);
        var points = Enumerable.Range(0, size.Length / step).Select(i => Invariant($"{x(run.Manifest.Rate.TimeOf(first + i * step).Ns):0.0},{MotionHeight - (size[i * step] - low) / (high - low) * MotionHeight:0.0}"));
        svg.Append(Invariant($"<text class=\"label\" x=\"0\" y=\"14\">|a|</text><text class=\"label small\" x=\"0\" y=\"28\">{low:0.00} … {high:0.00} g</text><polyline class=\"signal\" points=\"{string.Join(' ', points)}\"/>"));
    }

    private static string Fill(int index) => index < 0 ? "none" : ClassColours.At(index).Hue;

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}

using System.Globalization;
using HilRunner.Reporting;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Application.Reproducing;

/// <summary>Makes an excerpt as short, and then as plain, as it can be while it still shows the complaint.</summary>
/// <param name="shows">Whether one play of an excerpt shows it.</param>
/// <param name="often">In at least this share of the plays.</param>
/// <param name="stepNs">It becomes shorter by whole steps: from one window of the model to the next, where that is known, so that they stay where they lie.</param>
internal sealed class Shrinker(Func<Excerpt, bool> shows, double often, long stepNs, Budget budget, Answers answers, Action<string> tell)
{
    /// <summary>Where no model says how its windows lie, ns.</summary>
    public const long UsualStepNs = 100_000_000;

    private int _tried, _plays;

    /// <param name="on">What it is played on, in words.</param>
    public (Excerpt Shortest, Excerpt Plainest, CaseShrink Shrink) Shrink(Excerpt whole, string on, CancellationToken stop)
    {
        string? stopped = null;
        var shortest = whole;
        var plainest = whole;
        var simplified = new List<string>();
        try
        {
            // The judged stretch stays; what comes before it, and what of it is at its ends, may go.
            long length = whole.Motion.Duration.Ns, middle = (whole.From.Ns + whole.To.Ns) / 2;
            int steps = (int)Math.Max(1, length / stepNs), at = (int)Math.Clamp(middle / stepNs, 0, steps - 1);
            Excerpt Of(Stretch s) => whole.Between(s.From * stepNs, s.To == steps ? length : s.To * stepNs);
            int before = (int)Math.Clamp(whole.From.Ns / stepNs, 0, at), after = (int)Math.Clamp((whole.To.Ns + stepNs - 1) / stepNs, at + 1, steps);
            new Stretch(0, steps).Shortest(new(before, after), s =>
            {
                var candidate = Of(s);
                bool still = Shows(string.Create(CultureInfo.InvariantCulture, $"stretch {s.From}-{s.To}"), candidate, stop);
                if (still)
                {
                    shortest = candidate;
                    tell(string.Create(CultureInfo.InvariantCulture, $"shrinking: {candidate.Seconds:0.0} s still show it, of {whole.Seconds:0.0} s ({_tried} stretches, {_plays} plays)"));
                }
                return still;
            });
            plainest = shortest;
            foreach (var (what, key, make) in Plainer())
            {
                var candidate = plainest with { Motion = plainest.Motion with { Channels = make(plainest) } };
                if (!Shows(key, candidate, stop)) { continue; }
                plainest = candidate;
                simplified.Add(what);
                tell($"simplifying: {what}");
            }
        }
        catch (BudgetSpentException spent) { stopped = spent.Message; }
        if (plainest.Motion.SampleCount > shortest.Motion.SampleCount) { plainest = shortest; }
        return (shortest, plainest, new(whole.Seconds, shortest.Seconds, _tried, _plays, on, stopped, simplified));

        IEnumerable<(string What, string Key, Func<Excerpt, double[][]> Make)> Plainer()
        {
            for (int c = 0; c < whole.Motion.ChannelNames.Count; c++)
            {
                int channel = c;
                string name = whole.Motion.ChannelNames[c];
                yield return ($"{name} can lie still at its mean", $"flat {name}", e => [.. e.Motion.Channels.Select((x, i) => i == channel ? Scaled(x, 0) : x)]);
            }
            foreach (int percent in new[] { 75, 50, 25 })
            {
                yield return ($"its swing can be {percent} % of what is left", $"swing {percent}", e => [.. e.Motion.Channels.Select(x => Scaled(x, percent / 100.0))]);
            }
            foreach (int width in new[] { 3, 5, 9 })
            {
                yield return ($"it can be smoothed over {width} samples", $"smooth {width}", e => [.. e.Motion.Channels.Select(x => Smoothed(x, width))]);
            }
        }
    }

    private bool Shows(string question, Excerpt candidate, CancellationToken stop)
    {
        _tried++;
        var test = new RepeatedTest(often);
        while (test.Shows is null)
        {
            bool? shown = answers.Known(question);
            if (shown is null)
            {
                stop.ThrowIfCancellationRequested();
                if (budget.Over is { } why) { throw new BudgetSpentException(why); }
                budget.Take();
                shown = shows(candidate);
                answers.Add(question, shown.Value);
            }
            _plays++;
            test.Add(shown.Value);
        }
        return test.Shows.Value;
    }

    private static double[] Scaled(double[] values, double factor)
    {
        double mean = values.Average();
        return Array.ConvertAll(values, v => mean + factor * (v - mean));
    }

    private static double[] Smoothed(double[] values, int width) =>
        [.. values.Select((_, i) => values[Math.Max(0, i - width / 2)..Math.Min(values.Length, i + width / 2 + 1)].Average())];
}

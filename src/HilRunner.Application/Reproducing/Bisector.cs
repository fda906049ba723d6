using System.Globalization;
using HilRunner.Reporting;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Application.Reproducing;

/// <summary>What playing on one image gave: it shows the complaint, it does not, or (null) nothing can be played on it, and why.</summary>
internal readonly record struct ImagePlay(bool? Shown, string Why);

/// <summary>Searches the first image that shows a complaint.</summary>
/// <param name="play">One play on an image of the list.</param>
internal sealed class Bisector(BuildList builds, Func<int, ImagePlay> play, double confidence, Budget budget, Answers answers, Action<string> tell)
{
    private readonly int[] _shown = new int[builds.Count], _played = new int[builds.Count];
    private readonly string?[] _leftOut = new string?[builds.Count];

    /// <param name="shown">Plays of the bad image that showed it, 1 or more, of <paramref name="played"/>.</param>
    /// <returns>Null: the good image shows it, too, or cannot be played: then nothing can be said, and why.</returns>
    public (CaseBisection? Found, string? Why) Search(int shown, int played, CancellationToken stop)
    {
        var search = new NoisyBisection(builds.Count, shown, played);
        (_shown[^1], _played[^1]) = (shown, played);
        string? stopped = null;
        try
        {
            // How often a good one would have to be played before it may be called good: the bad one's share decides.
            var good = new RepeatedTest((double)shown / played);
            while (good.Shows is null)
            {
                if (Ask(0, stop) is not { } answer) { return (null, $"{builds.Names[0]} cannot be played: {_leftOut[0]}"); }
                good.Add(answer);
            }
            if (good.Shows.Value) { return (null, $"{builds.Names[0]} shows it, too, in {_shown[0]} of {_played[0]} plays: it came in earlier"); }
            while (search.Confidence < confidence && search.Next() is { } image)
            {
                if (Ask(image, stop) is { } answer)
                {
                    search.Add(image, answer);
                    tell(string.Create(CultureInfo.InvariantCulture, $"bisecting: {builds.Names[image]} {(answer ? "shows it" : "does not show it")}; the first bad one is {builds.Names[search.Last]} with {search.Confidence:0.000} ({search.Plays} plays)"));
                }
                else
                {
                    search.Skip(image);
                    tell($"bisecting: {builds.Names[image]} is left out: {_leftOut[image]}");
                }
            }
        }
        catch (BudgetSpentException spent) { stopped = spent.Message; }
        int first = search.First, last = search.Last;
        double share = (double)shown / played;
        return (new(builds.Names[last], builds.Names[first - 1], search.Confidence, _played.Sum() - played, Floor(builds.Count - 1, share), stopped,
            [.. builds.Names.Select((n, i) => new CaseImage(n, _shown[i], _played[i], _leftOut[i]))]) { Settled = search.Confidence >= confidence, OrOneOf = [.. builds.Names.Skip(first).Take(last - first)] }, null);
    }

    /// <summary>
    /// Plays that no way of searching can do without, on average: log2 of the candidates over the most that one play can tell, the capacity of the Z-channel that a fault makes which shows only sometimes
    /// and never where it is not (Shannon 1948; Golomb, "The limiting behavior of the Z-channel", IEEE Trans. IT 26, 1980).
    /// </summary>
    internal static double? Floor(int candidates, double share)
    {
        if (candidates < 2) { return null; }
        double miss = 1 - share;
        double capacity = share >= 1 ? 1 : Math.Log2(1 + share * Math.Pow(miss, miss / share));
        return Math.Log2(candidates) / capacity;
    }

    private bool? Ask(int image, CancellationToken stop)
    {
        string question = $"image {builds.Names[image]}";
        if (answers.Known(question) is { } known) { return Count(image, known); }
        stop.ThrowIfCancellationRequested();
        if (budget.Over is { } over) { throw new BudgetSpentException(over); }
        budget.Take();
        var answer = play(image);
        if (answer.Shown is not { } shown)
        {
            _leftOut[image] = answer.Why;
            return null;
        }
        answers.Add(question, shown);
        return Count(image, shown);
    }

    private bool Count(int image, bool shown)
    {
        _played[image]++;
        if (shown) { _shown[image]++; }
        return shown;
    }
}

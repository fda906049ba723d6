using System.Globalization;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Trivial;

public enum TrivialKind { Constant, Cycling, Random }

/// <summary>A device that hears nothing of what is played: what it says is known beforehand.</summary>
/// <param name="Name">In words, such as "always carried".</param>
/// <param name="PeriodNs">Between two of its decisions; null: it says one thing and stays with it.</param>
public sealed record TrivialDevice(string Name, TrivialKind Kind, long? PeriodNs)
{
    private const int Phases = 8;
    private const long ShortestNs = 200_000_000;

    /// <summary>Class at the n-th period of a run.</summary>
    private Func<int, Random, string> ClassAt { get; init; } = (_, _) => Decision.NoClass;

    /// <summary>How much of a period is over when a run begins, in ns.</summary>
    private long PhaseNs { get; init; }

    /// <summary>
    /// Nothing at all; each constant class; cycling through the classes with periods from 0.2 s to twice the longest trial, in
    /// eight phases; drawing each decision by the reference's shares of time, so many of them.
    /// </summary>
    /// <param name="reference">Of everything that is played.</param>
    public static IEnumerable<TrivialDevice> Of(IReadOnlyList<ReferenceInterval> reference, int draws)
    {
        ArgumentNullException.ThrowIfNull(reference);
        var shares = reference.GroupBy(r => r.Class, StringComparer.Ordinal).OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (Class: g.Key, Ns: g.Sum(r => r.End.Ns - r.Start.Ns))).ToArray();
        string[] classes = [.. shares.Select(s => s.Class)];
        yield return new("saying nothing", TrivialKind.Constant, null) { IsSilent = true };
        foreach (string name in classes) { yield return new($"always {name}", TrivialKind.Constant, null) { ClassAt = (_, _) => name }; }
        long[] periods = [.. Periods(2 * reference.Max(r => r.End.Ns - r.Start.Ns))];
        foreach (long period in classes.Length > 1 ? periods : [])
        {
            for (int phase = 0; phase < Phases; phase++)
            {
                // Phases of a whole cycle: whole periods of it, and the rest.
                long begun = period * classes.Length * phase / Phases;
                int first = (int)(begun / period);
                yield return new(string.Create(CultureInfo.InvariantCulture,
                    $"cycling through the classes, {period / 1e9:0.0##} s each"), TrivialKind.Cycling, period)
                {
                    ClassAt = (n, _) => classes[(first + n) % classes.Length],
                    PhaseNs = begun % period,
                };
            }
        }
        for (int draw = 0; draw < draws; draw++)
        {
            long period = periods[draw % periods.Length];
            yield return new(string.Create(CultureInfo.InvariantCulture,
                $"a random class every {period / 1e9:0.0##} s"), TrivialKind.Random, period)
            {
                ClassAt = (_, random) => Drawn(shares, random),
                Seed = draw,
            };
        }
    }

    private int Seed { get; init; }

    /// <summary>It never says anything.</summary>
    public bool IsSilent { get; private init; }

    /// <summary>What it says in a run, in order.</summary>
    /// <param name="run">Number of the run: a random device says something else in each.</param>
    /// <param name="outputs">It says the same on all of them.</param>
    public IReadOnlyList<Decision> Decide(StimulusTime end, int run, IReadOnlyList<string> outputs)
    {
        if (IsSilent) { return []; }
        // The same in every process: what a report says must not depend on when it is made.
        var random = new Random(1_000_003 * (Seed % 2000) + run);
        var decisions = new List<Decision>();
        long at = 0;
        for (int n = 0; at < end.Ns; n++)
        {
            string name = ClassAt(n, random);
            foreach (string output in outputs) { decisions.Add(new(new(at), name, output) { UncertaintyNs = 0 }); }
            if (PeriodNs is not { } period) { break; }
            at = (n + 1) * period - PhaseNs;
        }
        return decisions;
    }

    /// <summary>From the shortest, each √2 of the one before, up to the longest.</summary>
    private static IEnumerable<long> Periods(long longestNs)
    {
        for (double ns = ShortestNs; ns <= Math.Max(longestNs, ShortestNs); ns *= Math.Sqrt(2)) { yield return (long)ns; }
    }

    private static string Drawn((string Class, long Ns)[] shares, Random random)
    {
        long at = random.NextInt64(shares.Sum(s => s.Ns));
        foreach (var (name, ns) in shares)
        {
            if ((at -= ns) < 0) { return name; }
        }
        return shares[^1].Class;
    }
}

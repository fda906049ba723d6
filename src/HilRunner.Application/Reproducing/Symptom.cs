using HilRunner.Core.Documents;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Reporting;

namespace HilRunner.Application.Reproducing;

internal enum SymptomKind { WrongClass, Restart, Silence, Late, Clock }

/// <summary>What is complained of, and how a play shows it.</summary>
/// <param name="Expected">The right class where the complaint is; "" where it is not about a class.</param>
/// <param name="Reported">What the device is said to have shown; null: not said.</param>
/// <param name="Events">Classes that are momentary.</param>
/// <param name="MoreThan">Of a late report, ns; of a clock, ppm.</param>
internal sealed record Symptom(SymptomKind Kind, string Expected, string? Reported, IReadOnlySet<string> Events, double MoreThan, string Output)
{
    /// <summary>An event that is expected must come within this, and is looked for so long.</summary>
    public static readonly TimeSpan Within = TimeSpan.FromSeconds(2);

    private static readonly (string Word, SymptomKind Kind)[] s_words =
        [("wrong-class", SymptomKind.WrongClass), ("restart", SymptomKind.Restart), ("silence", SymptomKind.Silence), ("late", SymptomKind.Late), ("clock", SymptomKind.Clock)];

    public static string Words => string.Join(", ", s_words.Select(w => w.Word));

    /// <summary>What the device was seen to say instead: from then on only that is the complaint, since another fault is another complaint. Null: anything else.</summary>
    public string? Instead { get; init; }

    public bool IsAboutClass => Kind == SymptomKind.WrongClass;

    public static SymptomKind KindOf(string word) =>
        Array.Find(s_words, w => w.Word == word) is { Word: not null } found ? found.Kind : throw new UsageException($"--symptom {word}: expected one of {Words}");

    /// <exception cref="UsageException">No such quantity.</exception>
    public static double Bound(SymptomKind kind, string? text)
    {
        try
        {
            return kind switch
            {
                SymptomKind.Late => Quantity.DurationNs(text ?? throw new UsageException("--symptom late needs --more-than, such as 500ms")),
                SymptomKind.Clock => double.Parse((text ?? throw new UsageException("--symptom clock needs --more-than, such as 500ppm")).Replace("ppm", "", StringComparison.Ordinal).Trim(), System.Globalization.CultureInfo.InvariantCulture),
                _ => text is null ? 0 : throw new UsageException("--more-than goes with --symptom late or clock"),
            };
        }
        catch (FormatException) { throw new UsageException($"--more-than {text}: expected {(kind == SymptomKind.Clock ? "parts per million, such as 500ppm" : "a duration, such as 500ms")}"); }
    }

    private bool IsEventExpected => Events.Contains(Expected);

    /// <summary>What was said where the complaint is: the class that was in force most of the time, or the event; "" where nothing was said.</summary>
    public string Said(IReadOnlyList<Decision> decisions, StimulusTime from, StimulusTime to)
    {
        var own = decisions.Where(d => d.Output == Output).OrderBy(d => d.Time.Ns).ToList();
        if (Events.Contains(Expected)) { return own.Any(d => d.Class == Expected && d.Time >= from && d.Time.Ns < to.Ns + Within.Ticks * 100) ? Expected : State(own, from, to); }
        if (Reported is { } reported && Events.Contains(reported)) { return own.Any(d => d.Class == reported && d.Time >= from && d.Time < to) ? reported : State(own, from, to); }
        return State(own, from, to);
    }

    /// <summary>Whether what was said is the complaint. A device that has said nothing yet shows nothing.</summary>
    public bool IsShown(string said) => said != Expected && (IsEventExpected || (said.Length > 0 && (Instead is null || said == Instead)));

    /// <summary>Whether a run on a healthy rig shows it.</summary>
    public bool IsShown(StoredRun run, string said)
    {
        var device = run.Score.Device;
        return Kind switch
        {
            SymptomKind.Restart => device.Resets > 0,
            SymptomKind.Silence => device.Silences > 0,
            SymptomKind.Clock => device.ClockPpm is { } ppm && Math.Abs(ppm) - (device.ClockPpmUncertainty ?? 0) > MoreThan,
            SymptomKind.Late => run.Score.Outputs.SelectMany(o => o.Trials).Any(t => t.ReportLatencyNs - (t.ReportUncertaintyNs ?? 0) > MoreThan),
            _ => IsShown(said),
        };
    }

    private string State(List<Decision> own, StimulusTime from, StimulusTime to)
    {
        var time = new Dictionary<string, long>(StringComparer.Ordinal);
        string current = "";
        long since = long.MinValue;
        foreach (var decision in own.Where(d => !Events.Contains(d.Class)).Append(new(new(long.MaxValue), "")))
        {
            long overlap = Math.Min(decision.Time.Ns, to.Ns) - Math.Max(since, from.Ns);
            if (overlap > 0) { time[current] = time.GetValueOrDefault(current) + overlap; }
            (current, since) = (decision.Class, decision.Time.Ns);
        }
        return time.Count == 0 ? "" : time.OrderByDescending(t => t.Value).ThenBy(t => t.Key, StringComparer.Ordinal).First().Key;
    }
}

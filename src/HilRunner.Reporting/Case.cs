using HilRunner.Core.Time;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Reporting;

/// <summary>A customer's complaint and what became of it: case.json and the page that can be sent are both made of this.</summary>
public sealed record Case
{
    public const int Schema = 1;

    public required string Name { get; init; }
    public required DateTimeOffset Begun { get; init; }
    public required string ToolVersion { get; init; }
    /// <summary>Hash of the log and of what was asked: another call with the same may go on with this one.</summary>
    public required string Key { get; init; }
    /// <summary>Name of the log's file; "" where it is not to be told.</summary>
    public string Log { get; init; } = "";
    public string LogSha256 { get; init; } = "";
    /// <summary>By the log's clock; null: it has none, or it is not to be told.</summary>
    public string? When { get; init; }
    /// <summary>What is complained of, in one sentence.</summary>
    public required string Complaint { get; init; }
    public required string Expected { get; init; }
    public string? Reported { get; init; }
    public required string Rig { get; init; }
    public required string Build { get; init; }
    /// <summary>What was converted, cut, bridged or guessed, and what that may hide: sentences.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
    public IReadOnlyList<CasePlays> Plays { get; init; } = [];
    public int Spoiled { get; init; }
    /// <summary>95 %, exact, of the share of plays that show it; null: no play says anything.</summary>
    public (double Low, double High)? ShareInterval { get; init; }
    public Culprit? Culprit { get; init; }
    /// <summary>What speaks for it: sentences, the weightiest first.</summary>
    public IReadOnlyList<string> Evidence { get; init; } = [];
    /// <summary>Null: no host model was given.</summary>
    public string? Host { get; init; }
    public CaseExcerpt? Excerpt { get; init; }
    public CaseShrink? Shrink { get; init; }
    public CaseBisection? Bisection { get; init; }
    public CaseKept? Kept { get; init; }
    /// <summary>Null: it is under way, or was broken off.</summary>
    public DateTimeOffset? Ended { get; init; }
    public bool Invented { get; init; }

    public int Shown => Plays.Sum(p => p.Shown);

    public int Played => Plays.Sum(p => p.Played);
}

/// <param name="How">"as recorded", or how it was varied.</param>
/// <param name="Said">What the device said where the complaint is → in how many plays.</param>
public sealed record CasePlays(string How, int Shown, int Played, IReadOnlyDictionary<string, int> Said);

/// <summary>The piece of motion that shows it, as the page draws it.</summary>
/// <param name="Channels">Channel name → samples in g or °/s.</param>
/// <param name="From">Where what the device says was judged.</param>
/// <param name="Device">What the device said in one play, in order.</param>
/// <param name="Host">What the host model says of the same samples; null: there is none.</param>
/// <param name="Logged">What the log says it said; null: the log has no class column.</param>
public sealed record CaseExcerpt(
    SampleRate Rate, IReadOnlyDictionary<string, double[]> Channels, StimulusTime From, StimulusTime To, IReadOnlyList<CaseSaid> Device, IReadOnlyList<CaseSaid>? Host, IReadOnlyList<CaseSaid>? Logged)
{
    public double Seconds => Channels.Count == 0 ? 0 : Channels.First().Value.Length / Rate.Hertz;
}

public sealed record CaseSaid(double At, string Class);

/// <param name="On">"the device" or the host model.</param>
/// <param name="Stopped">Why it ended early; null: it did not.</param>
/// <param name="Simplified">What else could be taken away: sentences.</param>
public sealed record CaseShrink(double FromSeconds, double ToSeconds, int Tried, int Plays, string On, string? Stopped, IReadOnlyList<string> Simplified);

/// <param name="FirstBad">Of several that cannot be told apart since one between them could not be played, the last.</param>
/// <param name="Images">In order: name, plays that show it, plays, and why it was left out.</param>
/// <param name="FloorPlays">No way of searching needs fewer, on average, at this share and confidence.</param>
public sealed record CaseBisection(string FirstBad, string LastGood, double Confidence, int Plays, double? FloorPlays, string? Stopped, IReadOnlyList<CaseImage> Images)
{
    /// <summary>It is as probable as was asked for.</summary>
    public required bool Settled { get; init; }

    /// <summary>Other images that may be the first bad one just as well.</summary>
    public IReadOnlyList<string> OrOneOf { get; init; } = [];
}

public sealed record CaseImage(string Name, int Shown, int Played, string? LeftOut);

/// <param name="Folder">Relative to the case's folder.</param>
/// <param name="Fails">Where it was seen to fail.</param>
/// <param name="Passes">Where it was seen to pass; null: nowhere yet.</param>
public sealed record CaseKept(string Folder, string Scenario, string Fails, string? Passes);

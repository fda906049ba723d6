using HilRunner.Core.Recordings.Import;

namespace HilRunner.Application.Reproducing;

/// <summary>What a call of <c>hil reproduce</c> wants.</summary>
internal sealed record ReproduceOrder(string Log, ImportMap Map, string Rig, string Out)
{
    public required string Name { get; init; }
    public string? At { get; init; }
    public string? Expected { get; init; }
    public string? Reported { get; init; }
    public SymptomKind Symptom { get; init; }
    public double MoreThan { get; init; }
    public IReadOnlyList<string> Events { get; init; } = [];
    public string? Output { get; init; }
    public string? Link { get; init; }
    public string Speed { get; init; } = "";
    public string? Model { get; init; }
    /// <summary>A host model that speaks as the device does, with its arguments.</summary>
    public string? Program { get; init; }
    public IReadOnlyList<string> References { get; init; } = [];
    public int Plays { get; init; } = 10;
    /// <summary>Half of the judged stretch, ns.</summary>
    public long AroundNs { get; init; }
    /// <summary>Null: as long as the outcome depends on it.</summary>
    public long? RunInNs { get; init; }
    public ulong Seed { get; init; } = 1;
    public bool Shrink { get; init; }
    /// <summary>Null: as often as the whole excerpt does.</summary>
    public double? Often { get; init; }
    public string? Bisect { get; init; }
    public string? Images { get; init; }
    public string? Make { get; init; }
    public double Confidence { get; init; }
    public int MostPlays { get; init; }
    public TimeSpan MostTime { get; init; }
    public string? Image { get; init; }
    public string? Build { get; init; }
    public bool Anonymise { get; init; }
    /// <summary>The page also tells rig, build, files and figures that are none of the customer's.</summary>
    public bool Internal { get; init; }
    public bool Resume { get; init; }
    public bool Quiet { get; init; }
}

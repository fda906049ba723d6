using HilRunner.Core.Time;

namespace HilRunner.Core.Models;

/// <summary>
/// A classifier of motion as its model file describes it: windows of device counts, integer features, a decision tree,
/// confirmation, and rules for momentary events. Pure data; <see cref="ModelRunner"/> runs it. Everything it computes is
/// integer arithmetic, so that firmware can do the same bit for bit (README.md beside this file).
/// </summary>
public sealed record MotionModel
{
    /// <summary>Longest window, in samples: keeps all sums inside 64 bits.</summary>
    public const int MaxWindow = 4096;

    /// <summary>Counts beyond ± this are taken as this.</summary>
    public const int MaxCount = 32767;

    /// <summary>Longest model file: 1023 nodes take some 150 kB.</summary>
    private const long LargestBytes = 1_000_000;

    public required string Name { get; init; }
    public required SampleRate Rate { get; init; }
    /// <summary>What the device is fed, in this order. Always holds ax, ay and az.</summary>
    public required IReadOnlyList<ModelChannel> Channels { get; init; }
    /// <summary>All classes; the place in this list is the class's code in binary messages.</summary>
    public required IReadOnlyList<string> Classes { get; init; }
    /// <summary>Samples in a window, 2 to <see cref="MaxWindow"/>.</summary>
    public required int Window { get; init; }
    /// <summary>Samples from one window to the next, 1 to <see cref="Window"/>.</summary>
    public required int Hop { get; init; }
    /// <summary>The tree, root first; children lie behind their parent.</summary>
    public required IReadOnlyList<TreeNode> Tree { get; init; }
    /// <summary>By class code: how many windows running must say a class before its change is reported, 1 or more.</summary>
    public required IReadOnlyList<int> Confirm { get; init; }
    public IReadOnlyList<EventRule> Events { get; init; } = [];
    /// <summary>The features that the tree asks for, each once, in its order.</summary>
    public IReadOnlyList<Feature> Features => [.. Tree.Where(n => !n.IsLeaf).Select(n => n.Feature).Distinct()];

    /// <exception cref="BadInputException">The file is absent or faulty: holds every fault found.</exception>
    public static MotionModel Read(string path) => Parse(Documents.DocumentReader.ReadText(path, LargestBytes), path);

    /// <param name="path">Only for messages.</param>
    /// <exception cref="BadInputException">The text is no model: holds every fault found.</exception>
    public static MotionModel Parse(string text, string path) => ModelFileReader.Read(text, path);
}

/// <param name="UnitsPerCount">g (ax ay az) or °/s (gx gy gz) of one count.</param>
public readonly record struct ModelChannel(string Name, double UnitsPerCount);

/// <summary>A question about one feature, or a leaf.</summary>
/// <param name="Below">Feature value &lt; Below leads to node <paramref name="Then"/>, otherwise to <paramref name="Else"/>.</param>
/// <param name="Class">Class code of a leaf; −1: a question.</param>
public readonly record struct TreeNode(Feature Feature, int Below, int Then, int Else, int Class, double Confidence)
{
    /// <summary>How much lower the threshold is while the question was last answered with the else branch (a Schmitt trigger); 0: never.</summary>
    public int Hysteresis { get; init; }
    public bool IsLeaf => Class >= 0;
}

/// <summary>
/// Free fall followed by an impact: |a| stays below <paramref name="Below"/> for <paramref name="For"/> samples or more, and
/// rises above <paramref name="Above"/> within <paramref name="Within"/> samples after the last low one. A free fall from
/// height h lasts √(2h/g): 0.32 s from 0.5 m.
/// </summary>
/// <param name="Quiet">Samples after an event in which the rule rests: a bounce is no second event.</param>
public readonly record struct EventRule(int Class, double Confidence, int Below, int For, int Above, int Within, int Quiet);

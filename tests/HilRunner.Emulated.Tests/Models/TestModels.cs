using System.Text;
using HilRunner.Core.Models;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Models;

/// <summary>Models that only tests use.</summary>
internal static class TestModels
{
    private static readonly string[] s_statistics = ["mean", "deviation", "minimum", "maximum", "range", "step", "roughness", "pace", "crossings"];
    private static readonly string[] s_series = ["ax", "ay", "az", "gx", "gy", "gz", "a", "g", "main"];

    public static string ParcelText { get; } = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml"));

    /// <summary>The parcel tag with a window every 40 ms, each reported when it differs from the one before: nothing hides behind confirmation.</summary>
    public static string DenseParcel { get; } = ParcelText
        .Replace("hop: 250 ms", "hop: 40 ms", StringComparison.Ordinal)
        .Replace("confirm: {resting: 3, carried: 3, conveyed: 3}", "confirm: {resting: 1, carried: 1, conveyed: 1}", StringComparison.Ordinal);

    /// <summary>
    /// Six channels, and a tree of nine statistics × nine series, one question after another, each with a leaf of its own: a class
    /// changes in nearly every window, so that every feature shows. Two event rules.
    /// </summary>
    public static string Everything(int seed)
    {
        var random = new Random(seed);
        string[] features = [.. s_statistics.SelectMany(s => s_series.Select(v => $"{s}({v})"))];
        var text = new StringBuilder();
        // 64 classes, 62 states and two events; three trees of features in the form of a balanced tree of depth 6.
        text.Append("model: everything\nclasses: [").AppendJoin(", ", Enumerable.Range(0, 64).Select(i => $"c{i}")).Append("]\n");
        text.Append("input: {rate: 100 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg, gx: 0.1 dps, gy: 0.1 dps, gz: 0.1 dps}}\n");
        text.Append("window: 370 ms\nhop: 30 ms\ntree:\n");
        int next = 0, leaf = 0;
        random.Shuffle(features);
        Node(6, "  ");
        text.Append("events:\n");
        text.Append("  - {class: c62, confidence: 0.9, below: 400 mg, for: 100 ms, above: 2 g, within: 100 ms, quiet: 300 ms}\n");
        text.Append("  - {class: c63, below: 800 mg, for: 30 ms, above: 1.1 g, within: 200 ms, quiet: 2 s}\n");
        return text.ToString();

        void Node(int depth, string indent)
        {
            string feature = features[next++ % features.Length];
            int below = feature switch
            {
                _ when feature.StartsWith("mean", StringComparison.Ordinal) => random.Next(-200, 900),
                _ when feature.StartsWith("minimum", StringComparison.Ordinal) => random.Next(-2000, 500),
                _ when feature.StartsWith("crossings", StringComparison.Ordinal) => random.Next(1, 9),
                _ when feature.StartsWith("pace", StringComparison.Ordinal) => random.Next(200, 1800),
                _ => random.Next(20, 2000),
            };
            text.Append(indent).Append("feature: ").Append(feature).Append('\n').Append(indent).Append("below: ").Append(below).Append('\n');
            foreach (string branch in (string[])["then", "else"])
            {
                text.Append(indent).Append(branch).Append(":\n");
                if (depth > 1) { Node(depth - 1, indent + "  "); }
                else
                {
                    text.Append(indent).Append("  class: c").Append(leaf % 62).Append('\n');
                    text.Append(indent).Append("  confidence: ").Append(System.FormattableString.Invariant($"{leaf * 0.013:0.000}")).Append('\n');
                    leaf++;
                }
            }
        }
    }

    public static MotionModel Parse(string text) => MotionModel.Parse(text, "test.yaml");
}

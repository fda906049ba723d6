using System.Globalization;
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
    /// Six channels and a balanced tree of depth 6: 63 of the 81 features (nine statistics × nine series), each asked at its
    /// middle value among the windows of random motion that come to it, so that the class changes in many windows and every leaf is
    /// reached. Two event rules.
    /// </summary>
    public static string Everything(int seed)
    {
        const string Head = "input: {rate: 100 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg, gx: 0.1 dps, gy: 0.1 dps, gz: 0.1 dps}}\nwindow: 370 ms\nhop: 30 ms\n";
        string[] features = [.. s_statistics.SelectMany(s => s_series.Select(v => $"{s}({v})"))];
        new Random(seed).Shuffle(features);
        int[][] motion = Motion.Random(6, 4_000, seed);
        var text = new StringBuilder("model: everything\nclasses: [").AppendJoin(", ", Enumerable.Range(0, 64).Select(i => $"c{i}")).Append("]\n");
        text.Append(Head).Append("tree:\n");
        int next = 0, leaf = 0;
        Node(6, "  ", [.. motion[0].Select((_, n) => n >= 37)]);
        text.Append("events:\n");
        text.Append("  - {class: c62, confidence: 0.9, below: 400 mg, for: 100 ms, above: 2 g, within: 100 ms, quiet: 300 ms}\n");
        text.Append("  - {class: c63, below: 800 mg, for: 30 ms, above: 1.1 g, within: 200 ms, quiet: 2 s}\n");
        return text.ToString();

        void Node(int depth, string indent, bool[] here)
        {
            string feature = features[next++];
            var (below, low) = Middle(feature, here);
            text.Append(CultureInfo.InvariantCulture, $"{indent}feature: {feature}\n{indent}below: {below}\n");
            foreach (bool then in (bool[])[true, false])
            {
                text.Append(indent).Append(then ? "then:\n" : "else:\n");
                if (depth > 1)
                {
                    Node(depth - 1, indent + "  ", [.. here.Zip(low, (h, l) => h && l == then)]);
                    continue;
                }
                text.Append(CultureInfo.InvariantCulture, $"{indent}  class: c{leaf % 62}\n{indent}  confidence: {leaf * 0.013:0.000}\n");
                leaf++;
            }
        }

        // By halving: how often a tree of this one question says low.
        (int Below, bool[] Low) Middle(string feature, bool[] here)
        {
            int least = short.MinValue, most = 2 * short.MaxValue, count = here.Count(h => h);
            while (most - least > 1)
            {
                int middle = least + (most - least) / 2;
                if (2 * Low(feature, middle).Zip(here).Count(p => p.First && p.Second) < count) { least = middle; }
                else { most = middle; }
            }
            return (most, Low(feature, most));
        }

        bool[] Low(string feature, int below)
        {
            var runner = new ModelRunner(Parse($"model: one\nclasses: [low, high]\n{Head}tree: {{feature: {feature}, below: {below}, then: {{class: low}}, else: {{class: high}}}}\n"));
            bool[] low = new bool[motion[0].Length];
            int[] sample = new int[motion.Length];
            for (int n = 0; n < low.Length; n++)
            {
                for (int c = 0; c < sample.Length; c++) { sample[c] = motion[c][n]; }
                runner.Push(n, sample, out _);
                low[n] = runner.Current == "low";
            }
            return low;
        }
    }

    public static MotionModel Parse(string text) => MotionModel.Parse(text, "test.yaml");
}

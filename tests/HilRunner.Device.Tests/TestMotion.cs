using System.Text;
using HilRunner.Core.Models;

namespace HilRunner.Device.Tests;

/// <summary>A small model at 100 Hz and motion that goes with it: resting 100 samples, shaken 100, a drop, resting again.</summary>
internal static class TestMotion
{
    public const string ModelText = """
        model: parcel tag
        classes: [resting, carried, dropped]
        input: {rate: 100 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg}}
        window: 500 ms
        hop: 100 ms
        tree: {feature: deviation(a), below: 40, then: {class: resting, confidence: 0.98}, else: {class: carried, confidence: 0.9}}
        events: [{class: dropped, below: 0.4 g, for: 150 ms, above: 2 g, within: 100 ms, quiet: 1 s}]
        """;

    public static MotionModel Model { get; } = MotionModel.Parse(ModelText, "test.yaml");

    public static int[] Z { get; } =
    [
        .. Enumerable.Repeat(1000, 100), .. Enumerable.Range(0, 100).Select(i => i % 2 == 0 ? 600 : 1400),
        .. Enumerable.Repeat(20, 30), .. Enumerable.Repeat(4000, 2), .. Enumerable.Repeat(1000, 168),
    ];

    /// <summary>What a correct device reports for <see cref="Z"/>.</summary>
    public static ModelDecision[] Expected
    {
        get
        {
            ModelRunner runner = new(Model);
            List<ModelDecision> decisions = [];
            for (int n = 0; n < Z.Length; n++)
            {
                if (runner.Push(n, [0, 0, Z[n]], out ModelDecision decision)) { decisions.Add(decision); }
            }
            return [.. decisions];
        }
    }

    public static string Lines(int from = 0, int? to = null)
    {
        StringBuilder text = new();
        for (int n = from; n < (to ?? Z.Length); n++) { text.Append(FormattableString.Invariant($"s {n} 0 0 {Z[n]}\n")); }
        return text.ToString();
    }
}

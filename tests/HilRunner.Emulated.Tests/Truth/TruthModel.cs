using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>A quick device, and motion that changes quickly: many trials in little time.</summary>
internal static class TruthModel
{
    private const int Lead = 200;

    public const string Text = """
        model: burst
        classes: [resting, conveyed]
        input: {rate: 200 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg}}
        window: 40 ms
        hop: 20 ms
        tree: {feature: deviation(az), below: 100, then: {class: resting}, else: {class: conveyed}}
        """;

    /// <summary>As rigs/emulated.yaml, but deaf to the sample number: decisions are timed by the device's clock.</summary>
    public static Rig Rig { get; } = RigFile.Parse("""
        rig: truth
        device:
          link: {process: {program: none}}
          on_open: {wait: 5 s, until: booted}
          framing: lines
          hears: {begin: "begin {rate_mhz}", sample: "s {n} {ax} {ay} {az}", end: "end"}
          says:
            decisions: '^c \d+ (?<class>\w+) (?<t_us>\d+) [\d.]+$'
            credit: '^k (?<n>\d+)$'
            booted: '^boot (?<version>\S+)'
          input: {rate: 200 Hz, channels: {ax: {count: 1 mg, range: 8 g}, ay: {count: 1 mg, range: 8 g}, az: {count: 1 mg, range: 8 g}}}
          identity: {ask: "id", answer: '^id (?<product>\S+) (?<version>\S+)( (?<image>[0-9a-f]+))?$'}
          clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$', bits: 32}
        before_each: {send: "reset", wait: 2 s, until: booted}
        """, "truth.yaml");

    public static Stimulus Motion(TruthCase row, Random random)
    {
        var model = MotionModel.Parse(Text, "truth");
        int samples = (int)(row.Seconds * model.Rate.Hertz);
        int[] z = new int[Lead + samples];
        Array.Fill(z, 1000, 0, Lead);
        var reference = new List<ReferenceInterval>();
        for (int n = 0; n < samples;)
        {
            bool moving = reference.Count % 2 == 1;
            int length = Math.Min(random.Next(row.Trial, row.Trial * 3 / 2 + 1), samples - n);
            reference.Add(new(model.Rate.TimeOf(n), model.Rate.TimeOf(n + length), moving ? "conveyed" : "resting", reference.Count + 1));
            for (int i = 0; i < length; i++, n++) { z[Lead + n] = !moving ? 1000 : n % 2 == 0 ? 600 : 1400; }
        }
        return new()
        {
            Rate = model.Rate,
            ChannelNames = ["ax", "ay", "az"],
            Counts = [new int[z.Length], new int[z.Length], z],
            UnitsPerCount = [0.001, 0.001, 0.001],
            LeadSamples = Lead,
            Reference = reference,
            Clipped = [0, 0, 0],
            Sources = [],
        };
    }
}

using CsCheck;
using HilRunner.Core.Time;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Tests.Plans;

public class PlanPipeTests
{
    private static readonly Gen<PlayPlan> s_plans = Gen.Select(
        Gen.Int[1, 40], Gen.Int[0, 3], Gen.Int[1, 5], Gen.Byte.Array[0, 8], Gen.Int[0, 2].Select(i => new[] { 0m, 1m, 4m }[i]),
        (samples, lead, perFrame, begin, speed) =>
        {
            int frames = (samples + perFrame - 1) / perFrame;
            return new PlayPlan
            {
                Folder = "runs/å",
                Rate = new SampleRate(50_000),
                Speed = speed == 0 ? null : speed,
                SampleCount = samples,
                LeadSamples = Math.Min(lead, samples),
                SamplesPerFrame = perFrame,
                Begin = begin,
                End = [1, 2],
                ListenNs = lead == 1 ? samples : null,
                StreamOn = begin,
                StreamOff = [3],
                NeedsMeasured = lead == 2,
                Expected = new Dictionary<string, string>(Enumerable.Range(0, lead).Select(i => KeyValuePair.Create($"group {i}", $"å{samples}"))),
                CaptureName = $"{lead}.pcapng",
                Frames = [.. Enumerable.Range(0, frames * 3).Select(i => (byte)i)],
                FrameEnds = [.. Enumerable.Range(1, frames).Select(i => i * 3)],
            };
        });

    [Test]
    public void PlansComeThroughUnchanged() => s_plans.List[0, 3].Sample(plans =>
    {
        var pipe = new MemoryStream();
        PlanPipe.Write(pipe, new PlayerOrder("rig.yaml", "rig: x\n", null, 17));
        plans.ForEach(p => PlanPipe.Write(pipe, p));
        pipe.Position = 0;
        Assert.That(PlanPipe.ReadOrder(pipe), Is.EqualTo(new PlayerOrder("rig.yaml", "rig: x\n", null, 17)));
        foreach (var plan in plans)
        {
            var read = PlanPipe.ReadPlan(pipe)!;
            Assert.That(read with { Begin = plan.Begin, End = plan.End, StreamOn = plan.StreamOn, StreamOff = plan.StreamOff, Frames = plan.Frames, FrameEnds = plan.FrameEnds, Expected = plan.Expected }, Is.EqualTo(plan));
            Assert.That(read.Expected, Is.EqualTo(plan.Expected));
            Assert.That((read.Begin, read.End, read.StreamOn, read.StreamOff, read.Frames, read.FrameEnds), Is.EqualTo((plan.Begin, plan.End, plan.StreamOn, plan.StreamOff, plan.Frames, plan.FrameEnds)));
        }
        Assert.That(PlanPipe.ReadPlan(pipe), Is.Null);
    });

    [Test]
    public void APipeThatEndsInAPlanIsNotTakenForOne()
    {
        var pipe = new MemoryStream();
        PlanPipe.Write(pipe, s_plans.Single());
        for (int length = 1; length < pipe.Length; length++)
        {
            var cut = new MemoryStream(pipe.ToArray(), 0, length);
            Assert.That(() => PlanPipe.ReadPlan(cut), Throws.InstanceOf<EndOfStreamException>(), $"{length} of {pipe.Length} bytes");
        }
    }

    [Test]
    public void AFrameIsDueWhenItsLastSampleWouldHaveBeenMeasured()
    {
        var plan = s_plans.Single() with
        {
            SampleCount = 10,
            SamplesPerFrame = 4,
            Speed = 2,
            FrameEnds = [3, 6, 9],
        };
        // Samples 3, 7 and 9 at 50 Hz, played at double speed.
        Assert.That(Enumerable.Range(0, 3).Select(plan.DueNs), Is.EqualTo(new[] { 30_000_000L, 70_000_000, 90_000_000 }));
    }
}

using HilRunner.Core.Links;
using HilRunner.Testing;
using Microsoft.Extensions.Time.Testing;

namespace HilRunner.Device.Tests;

/// <summary>The device's own sensor: what it says of it, and that it classifies it.</summary>
public sealed class SensorTests
{
    private static readonly VirtualDeviceOptions Plain = new() { Model = "", CreditWindow = 0 };

    [Test]
    public void It_says_what_it_feels_from_stream_on_to_stream_off()
    {
        using Bench bench = new(Plain);
        bench.Link.Send("stream on\n");
        bench.Link.WaitForLine("d 20 ");
        bench.Link.Send("stream off\nid\n");
        bench.Link.WaitForLine("id");
        string[][] said = [.. bench.Link.Lines.Where(l => l[0] == 'd').Select(l => l.Split(' '))];
        Assert.Multiple(() =>
        {
            Assert.That(said.Select(f => int.Parse(f[1])), Is.EqualTo(Enumerable.Range(0, said.Length)));
            Assert.That(said.Select(f => int.Parse(f[4])), Is.All.InRange(984, 1016), "1 g on z, and at most 16 counts of noise");
            Assert.That(said.Select(f => f[2]).Distinct().Count(), Is.GreaterThan(2), "noise there is");
            Assert.That(bench.Link.Lines[^1], Does.StartWith("id"), "and then no more");
        });
    }

    [Test]
    public void It_feels_a_recording_over_and_over_and_classifies_it()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllLines(folder.File("m.csv"), ["t_s,ax_g,ay_g,az_g", .. TestMotion.Z.Select((z, n) => FormattableString.Invariant($"{n / 100m},0,0,{z / 1000m}"))]);
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { Motion = folder.File("m.csv") }, time);
        bench.Link.Send("stream on\n");
        bench.Link.WaitForLine("d 0 ");
        time.Advance(TimeSpan.FromSeconds(TestMotion.Z.Length / 100 + 1));
        bench.Link.WaitForLine($"d {TestMotion.Z.Length + 50} ");
        string[] lines = bench.Link.Lines;
        Assert.Multiple(() =>
        {
            Assert.That(lines.Where(l => l[0] == 'd').Select(l => int.Parse(l.Split(' ')[4])).Take(TestMotion.Z.Length + 50),
                Is.EqualTo(TestMotion.Z.Concat(TestMotion.Z.Take(50))));
            Assert.That(lines.Where(l => l[0] == 'c').Select(l => l.Split(' ')).Select(f => (long.Parse(f[1]), f[2])).Take(TestMotion.Expected.Length),
                Is.EqualTo(TestMotion.Expected.Select(d => (d.N, d.Class))));
        });
    }

    [Test]
    public void One_that_senses_classifies_without_being_asked_and_says_no_samples()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { Senses = true }, time);
        bench.Link.WaitForLine("boot");
        time.Advance(TimeSpan.FromSeconds(2));
        bench.Link.WaitForLine("c 49 resting");
        bench.Link.Send("begin 100000\nst\n");
        bench.Link.WaitForLine("st none");
        Assert.That(bench.Link.Lines, Has.None.StartsWith("d "));
        Assert.That(bench.Link.Lines.Count(l => l[0] == 'c'), Is.EqualTo(1));
    }

    [TestCase("stream\n")]
    [TestCase("stream up\n")]
    [TestCase("stream on now\n")]
    public void Other_words_are_refused(string line)
    {
        using Bench bench = new(Plain);
        bench.Link.Send(line + "id\n");
        bench.Link.WaitForLine("id");
        Assert.That(bench.Link.Lines[1], Is.EqualTo("e 2 malformed"));
    }

    [Test]
    public void A_recording_that_lacks_an_axis_is_refused_before_anything_is_opened()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("m.csv"), "t_s,ax_g\n0,0\n0.01,0\n");
        File.WriteAllText(folder.File("model.yaml"), TestMotion.ModelText);
        var options = new VirtualDeviceOptions { Model = folder.File("model.yaml"), Motion = folder.File("m.csv") };
        Assert.That(() => BuiltinLink.Check(new(options)), Throws.TypeOf<Core.BadInputException>().With.Message.Contains("ay"));
    }
}

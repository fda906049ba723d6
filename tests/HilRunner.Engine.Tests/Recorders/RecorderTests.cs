using System.Text;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Recorders;
using HilRunner.Testing;
using HilRunner.Transport.Decoding;

namespace HilRunner.Engine.Tests.Recorders;

/// <summary>What becomes of samples that are lost, doubled, damaged or counted anew: never one series that hides it.</summary>
public class RecorderTests
{
    private const string ByNumber = @"'^d (?<n>\d+) (?<ax>-?\d+)$'";
    private const string ByStamp = @"'^d (?<t_ms>\d+) (?<ax>-?\d+)$'";
    private const string Bare = @"'^d (?<ax>-?\d+)$'";

    [Test]
    public void LostSamples_EndThePart()
    {
        using var bench = new Bench(ByNumber);
        bench.Hear("d 0 10", "d 1 11", "d 2 12", "d 6 16", "d 7 17");
        bench.Recorder.Labels.Mark(bench.At(1), "carried");
        bench.Recorder.Finish("done");
        Assert.Multiple(() =>
        {
            Assert.That(bench.Read("r.csv").Channels[0], Is.EqualTo(new[] { 0.010, 0.011, 0.012 }));
            Assert.That(bench.Read("r-2.csv").Channels[0], Is.EqualTo(new[] { 0.016, 0.017 }));
            Assert.That(bench.Recorder.SamplesLost, Is.EqualTo(3));
            Assert.That(bench.Read("r.csv").Labels.Single(), Is.EqualTo(new LabelInterval(Ms(10), Ms(30), "carried")));
            Assert.That(bench.Read("r-2.csv").Labels.Single(), Is.EqualTo(new LabelInterval(Ms(0), Ms(20), "carried")), "the label goes on in the next part");
            Assert.That(bench.Read("r.csv").Info.Provenance, Does.Contain("goes on in r-2.csv"));
        });
    }

    [Test]
    public void ARepeatedSample_IsDroppedAndCounted()
    {
        using var bench = new Bench(ByNumber);
        bench.Hear("d 0 10", "d 1 11", "d 1 11", "d 2 12");
        bench.Recorder.Finish("done");
        Assert.That(bench.Read("r.csv").SampleCount, Is.EqualTo(3));
        Assert.That(bench.Recorder.SamplesRepeated, Is.EqualTo(1));
        Assert.That(bench.Recorder.Incidents.Single(), Does.Contain("came twice"));
    }

    [Test]
    public void ANumberThatWraps_IsNoGap()
    {
        using var bench = new Bench(ByNumber);
        bench.Hear("d 254 1", "d 255 2", "d 0 3", "d 1 4");
        Assert.That(bench.Recorder.Parts, Has.Count.EqualTo(1));
    }

    [Test]
    public void ADeviceThatCountsAnew_BeginsAnew()
    {
        using var bench = new Bench(ByNumber);
        bench.Hear("d 17 1", "d 18 2", "d 0 3");
        Assert.That(bench.Recorder.Parts, Has.Count.EqualTo(2));
        Assert.That(bench.Recorder.Parts[1].Begins, Does.Contain("counts anew"));
    }

    [Test]
    public void StampsTellWhatNumbersWouldTell()
    {
        using var bench = new Bench(ByStamp);
        bench.Hear("d 1000 1", "d 1010 2", "d 1019 3", "d 1050 4");
        Assert.That(bench.Recorder.Parts.Select(p => p.SampleCount), Is.EqualTo(new[] { 3, 1 }));
        Assert.That(bench.Recorder.SamplesLost, Is.EqualTo(2));
    }

    [Test]
    public void WithoutEither_ALongSilenceEndsThePart()
    {
        using var bench = new Bench(Bare);
        bench.Hear("d 1", "d 2");
        bench.Wait(600);
        bench.Hear("d 3");
        Assert.That(bench.Recorder.Parts, Has.Count.EqualTo(2));
        Assert.That(bench.Recorder.Parts[1].Begins, Does.Contain("may be lost"));
    }

    [Test]
    public void WhatIsOnDisk_CanBeReadAtAnyMoment()
    {
        using var bench = new Bench(ByNumber);
        for (int n = 0; n < 40; n++)
        {
            bench.Hear($"d {n} {n}");
            if (n == 10) { bench.Recorder.Labels.Mark(bench.At(10), "carried"); }
            bench.Recorder.Save();
            var sofar = bench.Read("r.csv");
            Assert.That(sofar.SampleCount, Is.EqualTo(n + 1));
            if (n > 10) { Assert.That(sofar.Labels.Single().End, Is.EqualTo(sofar.Duration), "an open label lasts until now"); }
        }
    }

    [Test]
    public void UndoneLabels_LeaveNoTrace()
    {
        using var bench = new Bench(ByNumber);
        bench.Hear("d 0 1", "d 1 1", "d 2 1", "d 5 1", "d 6 1");
        bench.Recorder.Labels.Mark(bench.At(0), "carried");
        bench.Recorder.Save();
        Assert.That(File.Exists(bench.Path("r.labels.csv")) && File.Exists(bench.Path("r-2.labels.csv")));
        bench.Recorder.Labels.Undo();
        bench.Recorder.Save();
        Assert.That(File.Exists(bench.Path("r.labels.csv")) || File.Exists(bench.Path("r-2.labels.csv")), Is.False);
    }

    private static StimulusTime Ms(int ms) => new(ms * 1_000_000L);

    /// <summary>A device whose samples arrive 10 ms apart, and a recorder that reads its capture.</summary>
    private sealed class Bench : IDisposable, IRecordingView
    {
        private readonly TemporaryFolder _folder = TestPaths.NewFolder("recorder");
        private readonly IDeviceFormat _format;
        private long _nowNs = 1_000_000_000;

        public Bench(string sample)
        {
            Rig rig = RigFile.Parse($$$"""
                rig: r
                device:
                  link: {tcp: "localhost:1"}
                  framing: lines
                  says: {decisions: '^c (?<class>\w+)$', sample: {{{sample}}}}
                  input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g} } }
                """, "rig.yaml");
            _format = new DeviceFormatFactory().Create(rig.Device);
            Recorder = new(rig, _format, _folder.File("r.csv"), new() { Provenance = "test" }, this);
            Recorder.Take(new(CaptureKind.Event, new(_nowNs), default, new(RunEventNames.Step, new Dictionary<string, string> { ["step"] = "begin" })));
        }

        public Recorder Recorder { get; }

        public void Hear(params string[] lines)
        {
            foreach (string line in lines)
            {
                Recorder.Take(new(CaptureKind.FromDevice, new(_nowNs), Encoding.ASCII.GetBytes(line + "\n"), null));
                _nowNs += 10_000_000;
            }
        }

        public void Wait(int ms) => _nowNs += ms * 1_000_000L;

        /// <summary>When the message with this number arrived.</summary>
        public HostTime At(int message) => new(1_000_000_000 + message * 10_000_000L);

        public string Path(string name) => _folder.File(name);

        public Recording Read(string name) => RecordingFile.Read(_folder.File(name));

        public void OnSample(ReadOnlySpan<double> values)
        {
        }

        public void OnIncident(string what)
        {
        }

        public void Dispose()
        {
            Recorder.Dispose();
            _format.Dispose();
            _folder.Dispose();
        }
    }
}

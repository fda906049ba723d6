using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Device.Shaking;
using HilRunner.Engine.Shaking;
using HilRunner.Testing;
using HilRunner.Transport.Links;

namespace HilRunner.Engine.Tests.Shaking;

/// <summary>A table behind a function generator and an amplifier whose gain nobody knows: rigs/shaker-generator.yaml against its simulator, over real ptys.</summary>
[Parallelizable(ParallelScope.All)]
public class GeneratorTests
{
    private static readonly SineMotion s_highest = new(16, 0.3);

    [TestCase(8)]
    [TestCase(19)]
    [TestCase(3)]
    public async Task TheFirstMotionMeasuresTheAmplifiersGain(double gPerVolt)
    {
        using var bench = new Bench(gPerVolt);
        bench.Session.Identify();
        bench.Session.Arm();
        Assert.That(bench.Session.IsGainUnknown);
        double most = 0;
        using var over = new CancellationTokenSource();
        var watch = Task.Run(async () =>
        {
            while (!over.IsCancellationRequested)
            {
                most = Math.Max(most, Math.Abs(bench.Table.Truth(bench.Clock.Now).G));
                await Task.Delay(1).ConfigureAwait(false);
            }
        });
        double gain = await bench.Drive.MeasureGainAsync(s_highest, default).ConfigureAwait(false);
        await over.CancelAsync().ConfigureAwait(false);
        await watch.ConfigureAwait(false);
        Assert.Multiple(() =>
        {
            Assert.That(bench.Session.IsGainUnknown, Is.False);
            // The table's own gain at 16 Hz is 1.009, and its sensor's noise is 2 mg of 30.
            Assert.That(gain, Is.EqualTo(1).Within(0.15));
            Assert.That(most, Is.LessThan(0.12), "never more than low levels ask for");
        });
        await bench.Drive.GoToAsync(s_highest, default).ConfigureAwait(false);
        await Task.Delay(1500).ConfigureAwait(false);
        Assert.That(bench.Session.Status().PeakG, Is.EqualTo(0.3).Within(0.045));
        await bench.Drive.RestAsync().ConfigureAwait(false);
        Assert.That(Math.Abs(bench.Table.Truth(bench.Clock.Now).G), Is.LessThan(0.02));
    }

    [Test]
    public void AnAmplifierWithMoreGainThanTheRigSaysIsNotDriven()
    {
        using var bench = new Bench(60);
        bench.Session.Arm();
        Assert.That(async () => await bench.Drive.MeasureGainAsync(s_highest, default).ConfigureAwait(false), Throws.TypeOf<ShakerException>());
        bench.AwaitRest();
    }

    [Test]
    public void ASensorThatLiesBesideTheTableIsFound()
    {
        using var bench = new Bench(8, sensorBeside: true);
        bench.Session.Arm();
        Assert.That(async () => await bench.Drive.MeasureGainAsync(new(16, 0.3), default).ConfigureAwait(false), Throws.TypeOf<ShakerException>().With.Message.Contains("the sensor fixed to the table?"));
        bench.AwaitRest();
    }

    [Test]
    public async Task AGainThatGrowsStopsIt()
    {
        using var bench = new Bench(8, new() { RunawayAfter = TimeSpan.FromSeconds(12), Watchdog = null });
        bench.Session.Arm();
        await bench.Drive.MeasureGainAsync(s_highest, default).ConfigureAwait(false);
        try { await bench.Drive.GoToAsync(s_highest, default).ConfigureAwait(false); } catch (ShakerException) { }
        Assert.That(() => bench.Session.Tripped?.Message, Does.Contain("it was stopped").After(15_000, 20));
        bench.AwaitRest();
    }

    [Test]
    public async Task AReferenceThatFallsSilentStopsIt()
    {
        using var bench = new Bench(8);
        bench.Session.Arm();
        await bench.Drive.MeasureGainAsync(s_highest, default).ConfigureAwait(false);
        bench.SilenceMeter();
        Assert.That(() => bench.Session.Tripped?.Message, Does.Contain("reference").After(10_000, 20));
        bench.AwaitRest();
    }

    [Test]
    public void TheGeneratorSpeaksAsTheStandardHasIt()
    {
        var clock = new HostClock(TimeProvider.System);
        using var end = PtyHost.Create(clock);
        new GeneratorController(new(new() { Watchdog = null }, clock.Now), 8, end).Start();
        using var talk = new Talk(end.Path);
        Assert.Multiple(() =>
        {
            Assert.That(talk.Ask("*IDN?").Split(','), Has.Length.EqualTo(4), "maker, model, serial, firmware (IEEE 488.2)");
            Assert.That(talk.Ask("SYST:ERR?"), Is.EqualTo("0,\"No error\""));
            Assert.That(talk.Ask("SOUR:NOISE 3;:SYST:ERR?"), Does.StartWith("-113,"));
            Assert.That(talk.Ask("SOUR:VOLT 99;:SYST:ERR?"), Does.StartWith("-222,"));
            Assert.That(talk.Ask("SOUR:FREQ 16;:SOUR:FREQ?;:OUTP?;*OPC?"), Is.EqualTo("1.6E+1;0;1"));
        });
    }

    private sealed class Talk(string path) : IDisposable
    {
        private readonly FileStream _pty = new(path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite, 0);

        public void Dispose() => _pty.Dispose();

        public string Ask(string line)
        {
            _pty.Write(System.Text.Encoding.ASCII.GetBytes(line + "\n"));
            var said = new System.Text.StringBuilder();
            for (int b = _pty.ReadByte(); b != '\n'; b = _pty.ReadByte()) { said.Append((char)b); }
            return said.ToString();
        }
    }

    private sealed class Bench : IDisposable
    {
        private readonly PtyHost _generator, _meter;
        private readonly SimulatedTable _other;

        public Bench(double gPerVolt, SimulatedTableOptions? options = null, bool sensorBeside = false)
        {
            options ??= new() { Watchdog = null };
            _generator = PtyHost.Create(Clock);
            _meter = PtyHost.Create(Clock);
            Table = new(options, Clock.Now);
            _other = new(options, Clock.Now);
            new GeneratorController(Table, gPerVolt, _generator).Start();
            new ReferenceMeter(sensorBeside ? _other : Table, _meter).Start();
            var shaker = RigFile.Read(Path.Combine(TestPaths.Root, "rigs", "shaker-generator.yaml")).Shaker!;
            Session = new(shaker, spec => new LinkOpener(Clock, _ => throw new InvalidOperationException()).Open(new PtyLinkSpec(spec == shaker.Link ? _generator.Path : _meter.Path)), Clock, _ => { });
            Drive = new(Session, shaker.Envelope, Clock);
        }

        public HostClock Clock { get; } = new(TimeProvider.System);

        public SimulatedTable Table { get; }

        public ShakerSession Session { get; }

        public SineDrive Drive { get; }

        public void SilenceMeter() => _meter.Dispose();

        public void AwaitRest() => Assert.That(() => Enumerable.Range(0, 50).Max(i => Math.Abs(Table.FeltG(Clock.Now + TimeSpan.FromMilliseconds(-i)))), Is.LessThan(0.02).After(3000, 100));

        public void Dispose()
        {
            Session.Dispose();
            _generator.Dispose();
            _meter.Dispose();
        }
    }
}

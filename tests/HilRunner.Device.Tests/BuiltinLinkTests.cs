using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Device.Tests;

/// <summary>The device behind a real link: a pty, and memory.</summary>
[TestFixture(true)]
[TestFixture(false)]
public sealed class BuiltinLinkTests(bool pty)
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);
    private readonly HostClock _clock = new(TimeProvider.System);
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void WriteModel()
    {
        _folder = TestPaths.NewFolder();
        File.WriteAllText(_folder.File("model.yaml"), TestMotion.ModelText);
    }

    [TearDown]
    public void RemoveFolder() => _folder.Dispose();

    private VirtualDeviceOptions Options => new() { Model = _folder.File("model.yaml"), Pty = pty };

    [Test]
    public void A_whole_run_comes_through()
    {
        using BuiltinLink link = BuiltinLink.Open(new(Options), _clock);
        Listener heard = new();
        link.Start(heard);
        foreach (string part in ("begin 100000\n" + TestMotion.Lines() + "end\nid\n").Chunk(100).Select(c => new string(c)))
        {
            link.Write(Encoding.ASCII.GetBytes(part), Limit);
        }
        heard.WaitFor("id parcel-tag 1.0.0\n");
        string[] lines = heard.Text.Split('\n');
        Assert.Multiple(() =>
        {
            Assert.That(link.Name, Does.StartWith("builtin:lines (").And.Contain(pty ? "/dev/pts/" : "memory"));
            Assert.That(lines[0], Is.EqualTo("boot 1.0.0"), "the banner is not lost");
            Assert.That(lines.Where(l => l.StartsWith("c ", StringComparison.Ordinal)).Select(l => string.Join(' ', l.Split(' ')[..3])),
                Is.EqualTo(TestMotion.Expected.Select(d => FormattableString.Invariant($"c {d.N} {d.Class}"))));
            Assert.That(lines.Where(l => l.StartsWith("k ", StringComparison.Ordinal)).Last(), Is.EqualTo("k 399"));
        });
    }

    [Test]
    public void Unplugged_the_host_loses_its_link()
    {
        using BuiltinLink link = BuiltinLink.Open(new(Options with { UnplugAt = 50 }), _clock);
        Listener heard = new();
        link.Start(heard);
        link.Write(Encoding.ASCII.GetBytes("begin 100000\n" + TestMotion.Lines(0, 60)), Limit);
        heard.WaitForLoss();
    }

    [Test]
    public void It_closes_at_once_whatever_is_going_on()
    {
        BuiltinLink link = BuiltinLink.Open(new(Options with { HangAt = 0 }), _clock);
        link.Write(Encoding.ASCII.GetBytes("begin 100000\n" + TestMotion.Lines()), Limit);
        HostTime start = _clock.Now;
        link.Dispose();
        link.Dispose();
        Assert.That((_clock.Now - start) / 1e9, Is.LessThan(2));
    }

    [Test]
    public void It_closes_while_the_device_talks_and_nobody_listens()
    {
        BuiltinLink link = BuiltinLink.Open(new(Options), _clock);
        byte[] questions = Encoding.ASCII.GetBytes(string.Concat(Enumerable.Repeat("id\n", 2000)));
        Assert.That(() => { for (int i = 0; i < 100; i++) { link.Write(questions, TimeSpan.FromMilliseconds(100)); } },
            Throws.TypeOf<LinkException>().With.Property(nameof(LinkException.Fault)).EqualTo(LinkFault.WriteTimeout));
        HostTime start = _clock.Now;
        link.Dispose();
        Assert.That((_clock.Now - start) / 1e9, Is.LessThan(3));
    }

    [Test]
    public void A_faulty_model_is_bad_input_and_starts_nothing()
    {
        File.WriteAllText(_folder.File("model.yaml"), "model: {");
        Assert.That(() => BuiltinLink.Open(new(Options), _clock), Throws.TypeOf<Core.BadInputException>());
    }

    private sealed class Listener : ILinkReceiver
    {
        private readonly StringBuilder _text = new();
        private bool _lost;

        public string Text
        {
            get { lock (_text) { return _text.ToString(); } }
        }

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            lock (_text)
            {
                _text.Append(Encoding.Latin1.GetString(bytes));
                Monitor.PulseAll(_text);
            }
        }

        public void OnLost(LinkException cause, HostTime at)
        {
            lock (_text)
            {
                _lost = true;
                Monitor.PulseAll(_text);
            }
        }

        public void WaitFor(string what) => Wait(() => _text.ToString().Contains(what, StringComparison.Ordinal), what);

        public void WaitForLoss() => Wait(() => _lost, "the loss of the link");

        private void Wait(Func<bool> condition, string what)
        {
            lock (_text)
            {
                while (!condition())
                {
                    if (!Monitor.Wait(_text, Limit)) { Assert.Fail($"waited {Limit} for {what}; heard:\n{_text}"); }
                }
            }
        }
    }
}

using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Decoding;

namespace HilRunner.Device.Tests;

/// <summary>The rig files as they are, the decoder and the link as they are: host and device understand each other.</summary>
public sealed class RigConversationTests
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);

    [TestCase("virtual.yaml", "parcel", "drops.yaml")]
    [TestCase("virtual-cobs.yaml", "parcel", "drops.yaml")]
    [TestCase("virtual-cobs.yaml", "parcel", "noisy-morning.yaml")]
    [TestCase("virtual-activity.yaml", "open-data", "person-01.yaml")]
    public void The_device_says_what_the_host_model_says(string rigFile, string folder, string scenarioFile)
    {
        if (folder == "open-data") { TestPaths.OpenData("activity/labels.txt"); }
        Rig rig = RigFile.Read(Path.Combine(TestPaths.Root, "rigs", rigFile));
        string scenarioPath = Path.Combine(TestPaths.Root, "scenarios", folder, scenarioFile);
        Stimulus stimulus = StimulusBuilder.Build(ScenarioFile.Read(scenarioPath), Path.GetDirectoryName(scenarioPath)!, rig.Device.Input, seed: 1);

        BuiltinLinkSpec spec = (BuiltinLinkSpec)rig.Device.Link;
        HostClock clock = new(TimeProvider.System);
        using BuiltinLink link = BuiltinLink.Open(spec, clock);
        using IDeviceFormat format = new DeviceFormatFactory().Create(rig.Device);
        using Listener heard = new(format.NewDecoder());
        link.Start(heard);
        link.Write(format.Message(rig.BeforeEach!.Send), Limit);
        link.Write(format.Message(rig.Device.Identity!.Ask), Limit);
        link.Write(format.Message(rig.Device.Clock!.Ask, token: 4_000_000_001), Limit);
        link.Write(format.Begin(stimulus.Rate, stimulus.SampleCount), Limit);
        int block = rig.Device.Hears.SamplesPerMessage;
        for (int n = 0; n < stimulus.SampleCount; n += block)
        {
            link.Write(format.Samples(stimulus.Counts, n, Math.Min(block, stimulus.SampleCount - n)), Limit);
        }
        link.Write(format.End(stimulus.SampleCount), Limit);
        heard.WaitForCredit(stimulus.SampleCount - 1);

        DeviceMessage[] messages = heard.Messages;
        DeviceMessage[] decisions = [.. messages.Where(m => m.Kind == MessageKind.Decision)];
        long?[] credits = [.. messages.Where(m => m.Kind == MessageKind.Credit).Select(m => m.N)];
        Assert.Multiple(() =>
        {
            Assert.That(decisions.Select(m => (m.N, m.Class, Thousandths(m.Confidence!.Value))),
                Is.EqualTo(Expected(spec, stimulus).Select(d => ((long?)d.N, (string?)d.Class, Thousandths(d.Confidence)))));
            Assert.That(decisions.Select(m => m.Ticks!.Value), Is.Ordered);
            Assert.That(messages.Count(m => m.Kind == MessageKind.Booted), Is.EqualTo(2), "at the start and after reset");
            Assert.That(messages.Single(m => m.Kind == MessageKind.Identity).Fields!["version"], Is.AnyOf("1.0.0", "1000000"));
            Assert.That(messages.Single(m => m.Kind == MessageKind.Clock).Token, Is.EqualTo(4_000_000_001));
            Assert.That(credits.Zip(credits.Skip(1), (a, b) => b - a), Has.All.InRange(1, 64), "credit each quarter window");
            Assert.That(heard.Counts, Is.EqualTo(new DecoderCounts(messages.Length, 0, 0, 0)));
            Assert.That(link.Device.Counters.MessagesRefused, Is.Zero);
        });
    }

    [TestCase("virtual.yaml")]
    [TestCase("virtual-cobs.yaml")]
    public void Damaged_bytes_never_make_a_decision_that_the_model_did_not(string rigFile)
    {
        Rig rig = RigFile.Read(Path.Combine(TestPaths.Root, "rigs", rigFile));
        VirtualDeviceOptions options = ((BuiltinLinkSpec)rig.Device.Link).Options with { LoseBytes = 0.01, DuplicateBytes = 0.01, GarbleBytes = rigFile == "virtual.yaml" ? 0 : 0.01 };
        HostClock clock = new(TimeProvider.System);
        using BuiltinLink link = BuiltinLink.Open(new(options), clock);
        using IDeviceFormat format = new DeviceFormatFactory().Create(rig.Device);
        using Listener heard = new(format.NewDecoder());
        link.Start(heard);
        for (ulong token = 1; token <= 2000; token++) { link.Write(format.Message(rig.Device.Clock!.Ask, token), Limit); }
        // Of 2000 answers of about 13 bytes two thirds or more come whole. A line shows damage to its blanks, its end and its
        // first letter only, 8 % of the lines: a damaged number is a number. A check sum shows all of it.
        heard.WaitForAnswers(1200);
        Assert.Multiple(() =>
        {
            Assert.That(heard.Messages.Where(m => m.Kind == MessageKind.Decision), Is.Empty);
            Assert.That(heard.Counts.FramesBad + heard.Counts.LinesUnknown, Is.GreaterThan(50), "and the damage is seen");
            if (rigFile == "virtual-cobs.yaml")
            {
                Assert.That(heard.Messages.Where(m => m.Kind == MessageKind.Clock).Select(m => m.Token), Is.Ordered, "no damaged frame passes the check sum");
            }
        });
    }

    // What both formats carry of a confidence.
    private static int Thousandths(double confidence) => (int)Math.Round(confidence * 1000);

    private static List<ModelDecision> Expected(BuiltinLinkSpec spec, Stimulus stimulus)
    {
        ModelRunner runner = new(MotionModel.Read(spec.Options.Model));
        List<ModelDecision> decisions = [];
        for (int i = 0; i < stimulus.SampleCount; i++)
        {
            if (runner.Push(i, [stimulus.Counts[0][i], stimulus.Counts[1][i], stimulus.Counts[2][i]], out ModelDecision decision)) { decisions.Add(decision); }
        }
        return decisions;
    }

    /// <summary>Decodes on the link's thread, keeps everything, and waits for what the test asks.</summary>
    private sealed class Listener(IDeviceDecoder decoder) : ILinkReceiver, IMessageSink, IDisposable
    {
        private readonly List<DeviceMessage> _messages = [];

        public DeviceMessage[] Messages
        {
            get { lock (_messages) { return [.. _messages]; } }
        }

        public DecoderCounts Counts
        {
            get { lock (_messages) { return decoder.Counts; } }
        }

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            lock (_messages)
            {
                decoder.Feed(bytes, arrival, this);
                Monitor.PulseAll(_messages);
            }
        }

        public void OnLost(LinkException cause, HostTime at)
        {
        }

        public void OnMessage(in DeviceMessage message) => _messages.Add(message);

        public void WaitForCredit(long n) => Wait(() => _messages.Exists(m => m.Kind == MessageKind.Credit && m.N == n), $"credit {n}");

        public void WaitForAnswers(int count) => Wait(() => _messages.Count(m => m.Kind == MessageKind.Clock) >= count, $"{count} clock answers");

        public void Dispose() => decoder.Dispose();

        private void Wait(Func<bool> done, string what)
        {
            lock (_messages)
            {
                while (!done())
                {
                    if (!Monitor.Wait(_messages, Limit)) { Assert.Fail($"waited {Limit} for {what}; {_messages.Count} messages came"); }
                }
            }
        }
    }
}

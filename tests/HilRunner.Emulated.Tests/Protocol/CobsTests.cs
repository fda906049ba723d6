using CsCheck;
using HilRunner.Core.Time;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Models;

namespace HilRunner.Emulated.Tests.Protocol;

/// <summary>The frames of src/HilRunner.Device/README.md, said by firmware on an emulated microcontroller.</summary>
public sealed class CobsTests
{
    // As published on that page.
    private const string Banner = "0588134A0F03D87B00", Begin = "0501A0860103E0EB00", Samples = "0202010101020C06FDFFE9030D07FDFFE703F8A000";
    private static readonly byte[] s_begin = Convert.FromHexString(Begin);
    private static readonly ImageSpec Image = new() { Protocol = "cobs", Version = "1.2.3" };
    private Emulator _device = null!;
    private FrameTalk _talk = null!;

    [SetUp]
    public void Start()
    {
        _device = new(Image);
        _talk = new(_device.Link);
        _talk.WaitFor(f => f[0] == 0x88, "the banner");
    }

    [TearDown]
    public void Stop() => _device.Dispose();

    [Test]
    public void The_published_frames_are_what_it_says_and_hears()
    {
        Assert.That(Convert.ToHexString(_talk.Raw[0]), Is.EqualTo(Banner));
        Assert.That(Convert.ToHexString(Frames.Of(0x01, Frames.U32(100_000))), Is.EqualTo(Begin), "the test's own frames");
        _talk.Say(s_begin, Convert.FromHexString(Samples), Frames.Of(0x03));
        byte[] credit = _talk.WaitFor(f => f[0] == 0x83, "credit at the end");
        Assert.That(credit, Is.EqualTo(new byte[] { 0x83, 1, 0, 0, 0 }), "two samples, n 0 and 1, were heard");
        Assert.That(_talk.Frames, Has.Length.EqualTo(2).And.None.Null);
    }

    [Test]
    public void Identity_holds_version_and_the_images_hash()
    {
        _talk.Say(Frames.Of(0x04));
        byte[] identity = _talk.WaitFor(f => f[0] == 0x84, "identity");
        Assert.That(identity, Has.Length.EqualTo(13));
        Assert.That(BitConverter.ToUInt32(identity, 1), Is.EqualTo(1_002_003));
        Assert.That(BitConverter.ToUInt64(identity, 5), Is.Not.Zero);
    }

    [Test]
    public void A_decision_has_all_its_fields_and_status_repeats_it()
    {
        _talk.Say(Frames.Of(0x07));
        _talk.WaitFor(f => f.SequenceEqual(new byte[] { 0x87 }), "no decision yet");
        uint before = _talk.Time(1);
        _talk.Say(s_begin);
        for (int n = 0; n < 200; n += 20) { _talk.Say(Block(Motion.Drops, n, 20)); }
        byte[] decision = _talk.WaitFor(f => f[0] == 0x82, "a decision");
        uint after = _talk.Time(2);
        _talk.Say(Frames.Of(0x07));
        byte[] state = _talk.WaitFor(f => f[0] == 0x82 && BitConverter.ToUInt32(f, 1) == 199, "the state");
        Assert.Multiple(() =>
        {
            Assert.That(decision, Has.Length.EqualTo(12));
            Assert.That(decision[5], Is.Zero, "resting is class 0 of the model");
            Assert.That(BitConverter.ToUInt32(decision, 6), Is.InRange(before, after));
            Assert.That(BitConverter.ToUInt16(decision, 10), Is.EqualTo(980), "thousandths");
            Assert.That((state[5], BitConverter.ToUInt16(state, 10)), Is.EqualTo((decision[5], BitConverter.ToUInt16(decision, 10))));
            Assert.That(_talk.Frames.Where(f => f![0] == 0x83).Select(f => BitConverter.ToUInt32(f!, 1)), Is.EqualTo(new uint[] { 63, 127, 191 }));
        });
    }

    [Test]
    public void A_frame_with_one_flipped_bit_is_refused_and_the_next_is_heard() =>
        Gen.Select(Gen.Int[0, s_begin.Length - 2], Gen.Int[0, 7], Gen.UInt).Sample((place, bit, token) =>
        {
            byte[] damaged = [.. s_begin];
            damaged[place] ^= (byte)(1 << bit);
            // A flip that makes a zero parts the frame in two.
            if (damaged[place] == 0) { return; }
            int before = _talk.Frames.Length;
            _talk.Say(damaged);
            _talk.Time(token);
            byte[]?[] said = _talk.Frames[before..^1];
            Assert.That(said.Select(f => Convert.ToHexString(f!)), Is.EqualTo(new[] { "8F03" }).Or.EqualTo(new[] { "8F02" }));
        }, iter: 60, threads: 1);

    private static IEnumerable<TestCaseData> Refused =>
    [
        new(Frames.Of(0x55), 1) { TestName = "unknown type" },
        new(Frames.Of(0x01, 1, 2, 3), 2) { TestName = "begin with three bytes" },
        new(Frames.Of(0x02, 0, 0, 0, 0, 1, 2, 3, 4, 5), 2) { TestName = "a sample that is cut off" },
        new(Frames.Of(0x01, Frames.U32(50_000)), 4) { TestName = "wrong rate" },
        new((byte[])[.. s_begin, .. Block(Motion.Drops, 5, 1), .. Block(Motion.Drops, 5, 1)], 5) { TestName = "a sample number twice" },
        new(Frames.Stuffed([.. Enumerable.Repeat((byte)7, 2000)]), 6) { TestName = "too long" },
        new((byte[])[9, 1, 2, 0], 2) { TestName = "a code that points past the end" },
    ];

    [TestCaseSource(nameof(Refused))]
    public void What_cannot_be_followed_is_refused(byte[] bytes, int code)
    {
        _talk.Say([0, 0, .. bytes]);
        _talk.Time(1);
        Assert.That(_talk.Frames[1..^1].Select(f => Convert.ToHexString(f!)), Is.EqualTo(new[] { $"8F0{code}" }));
    }

    [Test]
    public void Reset_says_the_banner_and_starts_the_clock_again()
    {
        // Its clock runs on while it is asked: longer than any answer takes.
        uint token = 0;
        while (_talk.Time(++token) < 100_000) { }
        int frames = _talk.Frames.Length;
        HostTime said = Emulator.Clock.Now;
        _talk.Say(Frames.Of(0x06));
        _talk.WaitFor(f => f[0] == 0x88, "the banner", frames);
        uint after = _talk.Time(++token);
        Assert.That(after * 1000L, Is.LessThan(Emulator.Clock.Now - said), "it counts from the reset on");
    }

    [Test]
    public void Noise_never_ends_it() =>
        Gen.Select(Gen.Byte.Array[0, 1500], Gen.UInt).Sample((noise, token) =>
        {
            _talk.Say(noise, [0]);
            _talk.Time(token);
        }, iter: 60, threads: 1);

    private static byte[] Block(int[][] counts, int first, int count) => Frames.Of(0x02,
    [
        .. Frames.U32((uint)first),
        .. Enumerable.Range(first, count).SelectMany(n => counts.SelectMany(c => BitConverter.GetBytes((short)c[n]))),
    ]);
}

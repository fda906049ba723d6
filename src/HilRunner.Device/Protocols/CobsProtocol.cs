using System.Buffers.Binary;
using System.Globalization;
using HilRunner.Transport.Framing;

namespace HilRunner.Device.Protocols;

/// <summary>Frames: COBS of type, little-endian fields and CRC-16/IBM-3740 (little-endian), ended by a zero byte.</summary>
internal sealed class CobsProtocol : IDeviceProtocol
{
    /// <summary>Longest frame that is heard, encoded, without its delimiter.</summary>
    public const int MaxFrame = 1024;

    private const byte Begin = 0x01, Samples = 0x02, End = 0x03,
        Identity = 0x04, Clock = 0x05, Restart = 0x06, Status = 0x07, Stream = 0x08, Counters = 0x09;
    private const byte Answer = 0x80;
    private const byte Decision = 0x82, Credit = 0x83,
        NoDecision = 0x87, Boot = 0x88, Measured = 0x89, Counted = 0x8A, Refused = 0x8F;

    private static readonly CrcModel Crc = CrcModel.ByName("CRC-16/IBM-3740");

    private readonly uint _version;
    private readonly ulong _image;
    private readonly int[] _counts;
    private readonly byte[] _frame = new byte[MaxFrame];
    private readonly byte[] _payload = new byte[MaxFrame];
    private int _length;
    private bool _tooLong;

    public CobsProtocol(DeviceIdentity identity, int channels)
    {
        _counts = new int[channels];
        _version = PackVersion(identity.Version);
        string image = identity.Image ?? "";
        _ = ulong.TryParse(image[..Math.Min(image.Length, 16)], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out _image);
    }

    public int MaxLength => 32;

    /// <summary>major·1 000 000 + minor·1 000 + patch; 0 when the version is not of that form.</summary>
    internal static uint PackVersion(string version) =>
        Version.TryParse(version, out Version? v) && v.Build >= 0 && v is { Major: < 1000, Minor: < 1000, Build: < 1000 }
            ? (uint)(v.Major * 1_000_000 + v.Minor * 1_000 + v.Build)
            : 0;

    public void Feed(ReadOnlySpan<byte> bytes, IDeviceEars ears)
    {
        foreach (byte value in bytes)
        {
            if (value != 0)
            {
                if (_length < MaxFrame) { _frame[_length++] = value; }
                else { _tooLong = true; }
                continue;
            }
            ReadOnlySpan<byte> frame = _frame.AsSpan(0, _length);
            bool tooLong = _tooLong;
            Forget();
            if (tooLong) { ears.OnRefused(Refusal.TooLong); }
            else if (!frame.IsEmpty) { Unpack(frame, ears); }
            if (!ears.Listening) { return; }
        }
    }

    private void Forget()
    {
        _length = 0;
        _tooLong = false;
    }

    public int Encode(in DeviceSaying saying, Span<byte> message)
    {
        Span<byte> plain = stackalloc byte[24];
        int length = Fill(saying, plain);
        BinaryPrimitives.WriteUInt16LittleEndian(plain[length..], (ushort)Crc.Compute(plain[..length]));
        int encoded = Cobs.Encode(plain[..(length + 2)], message);
        message[encoded] = 0;
        return encoded + 1;
    }

    private int Fill(in DeviceSaying saying, Span<byte> plain)
    {
        Span<byte> fields = plain[1..];
        switch (saying.Kind)
        {
            case SayingKind.Boot:
                plain[0] = Boot;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, _version);
                return 5;
            case SayingKind.Decision:
                plain[0] = Decision;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, (uint)saying.N);
                fields[4] = (byte)saying.Class;
                BinaryPrimitives.WriteUInt32LittleEndian(fields[5..], saying.Microseconds);
                BinaryPrimitives.WriteUInt16LittleEndian(fields[9..], (ushort)saying.PerMille);
                return 12;
            case SayingKind.NoDecision:
                plain[0] = NoDecision;
                return 1;
            case SayingKind.Credit:
                plain[0] = Credit;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, (uint)saying.N);
                return 5;
            case SayingKind.Identity:
                plain[0] = Answer | Identity;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, _version);
                BinaryPrimitives.WriteUInt64LittleEndian(fields[4..], _image);
                return 13;
            case SayingKind.Clock:
                plain[0] = Answer | Clock;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, saying.Token);
                BinaryPrimitives.WriteUInt32LittleEndian(fields[4..], saying.Microseconds);
                return 9;
            case SayingKind.Counters:
                plain[0] = Counted;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, saying.Counters.Received);
                BinaryPrimitives.WriteUInt32LittleEndian(fields[4..], saying.Counters.Refused);
                BinaryPrimitives.WriteUInt32LittleEndian(fields[8..], saying.Counters.Said);
                BinaryPrimitives.WriteUInt32LittleEndian(fields[12..], saying.Counters.Dropped);
                return 17;
            case SayingKind.Measured:
                plain[0] = Measured;
                BinaryPrimitives.WriteUInt32LittleEndian(fields, (uint)saying.N);
                for (int i = 0; i < saying.Counts.Length; i++)
                {
                    BinaryPrimitives.WriteInt16LittleEndian(fields[(4 + 2 * i)..], (short)saying.Counts.Span[i]);
                }
                return 5 + 2 * saying.Counts.Length;
            default:
                plain[0] = Refused;
                fields[0] = (byte)saying.Why;
                return 2;
        }
    }

    private void Unpack(ReadOnlySpan<byte> frame, IDeviceEars ears)
    {
        if (!Cobs.TryDecode(frame, _payload, out int length) || length < 3)
        {
            ears.OnRefused(Refusal.Malformed);
            return;
        }
        ReadOnlySpan<byte> covered = _payload.AsSpan(0, length - 2);
        if (BinaryPrimitives.ReadUInt16LittleEndian(_payload.AsSpan(length - 2)) != Crc.Compute(covered))
        {
            ears.OnRefused(Refusal.CheckSum);
            return;
        }
        Hear(covered[0], covered[1..], ears);
    }

    private void Hear(byte type, ReadOnlySpan<byte> fields, IDeviceEars ears)
    {
        switch (type, fields.Length)
        {
            case (Begin, 4): ears.OnBegin(BinaryPrimitives.ReadUInt32LittleEndian(fields)); break;
            case (Samples, _): HearSamples(fields, ears); break;
            case (End, 0): ears.OnEnd(); break;
            case (Identity, 0): ears.OnIdentity(); break;
            case (Clock, 4): ears.OnClock(BinaryPrimitives.ReadUInt32LittleEndian(fields)); break;
            case (Restart, 0): ears.OnReset(); break;
            case (Status, 0): ears.OnStatus(); break;
            case (Counters, 0): ears.OnCounters(); break;
            case (Stream, 1) when fields[0] <= 1: ears.OnStream(fields[0] == 1); break;
            case ( >= Begin and <= Counters, _): ears.OnRefused(Refusal.Malformed); break;
            default: ears.OnRefused(Refusal.Unknown); break;
        }
    }

    private void HearSamples(ReadOnlySpan<byte> fields, IDeviceEars ears)
    {
        int perSample = 2 * _counts.Length;
        if (fields.Length < 4 + perSample || (fields.Length - 4) % perSample != 0)
        {
            ears.OnRefused(Refusal.Malformed);
            return;
        }
        long n = BinaryPrimitives.ReadUInt32LittleEndian(fields);
        for (ReadOnlySpan<byte> rest = fields[4..]; !rest.IsEmpty && ears.Listening; rest = rest[perSample..], n++)
        {
            for (int i = 0; i < _counts.Length; i++) { _counts[i] = BinaryPrimitives.ReadInt16LittleEndian(rest[(2 * i)..]); }
            ears.OnSample(n, _counts);
        }
    }
}

using System.Buffers.Binary;
using System.Text;
using HilRunner.Core.Capture;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Transport.Capture;

/// <summary>
/// Appends records to one buffer and hands it to the operating system when it is full, when asked, and at the first record 50 ms or
/// more after the last time. No timer: a record that nothing follows waits for <see cref="Flush"/>. Allocates nothing per
/// record once the buffer has grown to the largest one.
/// </summary>
internal sealed class CaptureWriter : ICaptureWriter
{
    private const int BufferBytes = 64 * 1024;
    private const long FlushAfterNs = 50_000_000;
    private readonly Lock _lock = new();
    private readonly string _path;
    private readonly HostClock _clock;
    private readonly long _partBytes;
    private byte[] _buffer = new byte[BufferBytes];
    private int _pending;
    private SafeFileHandle _file;
    private long _written;
    private int _part;
    private HostTime? _lastFlush;
    private IOException? _failure;
    private bool _disposed;

    public CaptureWriter(string path, HostClock clock, long partBytes)
    {
        (_path, _clock, _partBytes) = (path, clock, partBytes);
        _file = OpenPart();
        try
        {
            WriteHeaders();
            WritePending();
        }
        catch
        {
            _file.Dispose();
            throw;
        }
    }

    public void Bytes(CaptureKind direction, HostTime at, ReadOnlySpan<byte> bytes)
    {
        if (direction == CaptureKind.Event) { throw new ArgumentException($"an event is written by {nameof(Event)}", nameof(direction)); }
        lock (_lock)
        {
            Span<byte> data = BeginPacket(bytes.Length);
            bytes.CopyTo(data);
            EndPacket(0, at, bytes.Length, direction == CaptureKind.FromDevice ? PcapNg.Inbound : PcapNg.Outbound);
        }
    }

    public void Event(HostTime at, string name, params ReadOnlySpan<(string Key, string Value)> details)
    {
        ArgumentException.ThrowIfNullOrEmpty(name);
        lock (_lock)
        {
            Span<byte> data = BeginPacket(EventText.MaxLength(name, details));
            EndPacket(1, at, EventText.Write(name, details, data), 0);
        }
    }

    public void Flush()
    {
        lock (_lock)
        {
            CheckUsable();
            WritePending();
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            if (_disposed) { return; }
            _disposed = true;
            try
            {
                if (_failure is null) { WritePending(); }
            }
            finally { _file.Dispose(); }
        }
    }

    private static int BlockLength(int dataLength) => PcapNg.EnhancedPacketHeader + PcapNg.Padded(dataLength) + 16;

    /// <summary>Makes room for a packet of at most this many bytes and returns where its bytes go.</summary>
    private Span<byte> BeginPacket(int mostBytes)
    {
        CheckUsable();
        if (mostBytes > PcapNg.LargestBlock - 64)
        {
            throw new ArgumentException($"a record of {mostBytes} bytes is too long: at most {PcapNg.LargestBlock - 64}", nameof(mostBytes));
        }
        int length = BlockLength(mostBytes);
        if (_written + _pending + length > _partBytes && _written + _pending > HeaderBytes) { BeginNextPart(); }
        if (_pending + length > _buffer.Length) { WritePending(); }
        if (length > _buffer.Length) { _buffer = new byte[length]; }
        return _buffer.AsSpan(_pending + PcapNg.EnhancedPacketHeader, mostBytes);
    }

    private void EndPacket(int interfaceId, HostTime at, int dataLength, uint flags)
    {
        int length = BlockLength(dataLength);
        ulong unixNs = (ulong)_clock.ToUnixNs(at);
        Span<byte> block = _buffer.AsSpan(_pending, length);
        U32(block, 0, PcapNg.EnhancedPacket);
        U32(block, 4, (uint)length);
        U32(block, 8, (uint)interfaceId);
        U32(block, 12, (uint)(unixNs >> 32));
        U32(block, 16, (uint)unixNs);
        U32(block, 20, (uint)dataLength);
        U32(block, 24, (uint)dataLength);
        int end = PcapNg.EnhancedPacketHeader + PcapNg.Padded(dataLength);
        block[(PcapNg.EnhancedPacketHeader + dataLength)..end].Clear();
        BinaryPrimitives.WriteUInt16LittleEndian(block[end..], PcapNg.OptionPacketFlags);
        BinaryPrimitives.WriteUInt16LittleEndian(block[(end + 2)..], 4);
        U32(block, end + 4, flags);
        U32(block, end + 8, PcapNg.OptionEnd);
        U32(block, end + 12, (uint)length);
        _pending += length;
        _lastFlush ??= at;
        if (at - _lastFlush.Value >= FlushAfterNs)
        {
            WritePending();
            _lastFlush = at;
        }
    }

    private void BeginNextPart()
    {
        WritePending();
        _part++;
        SafeFileHandle next;
        try { next = OpenPart(); }
        catch (IOException exception)
        {
            _failure = exception;
            throw;
        }
        _file.Dispose();
        _file = next;
        _written = 0;
        WriteHeaders();
    }

    private SafeFileHandle OpenPart() =>
        PlainFile.CreateHandle(CaptureParts.PathOf(_path, _part));

    private void CheckUsable()
    {
        ObjectDisposedException.ThrowIf(_disposed, this);
        if (_failure is not null) { throw new IOException($"the capture {_path} could not be written earlier: {_failure.Message}", _failure); }
    }

    private void WritePending()
    {
        if (_pending == 0) { return; }
        try { RandomAccess.Write(_file, _buffer.AsSpan(0, _pending), _written); }
        catch (IOException exception)
        {
            // What reached the file is unknown, so nothing more may follow it.
            _failure = exception;
            throw;
        }
        _written += _pending;
        _pending = 0;
    }

    /// <summary>Section header and the two interfaces; the same at the start of every part.</summary>
    private void WriteHeaders()
    {
        Headers.CopyTo(_buffer.AsSpan(_pending));
        _pending += Headers.Length;
    }

    private static readonly byte[] Headers = [.. SectionHeader(), .. Interface(PcapNg.LinkTypeBytes, "bytes"), .. Interface(PcapNg.LinkTypeEvents, "events")];

    private static int HeaderBytes => Headers.Length;

    private static byte[] SectionHeader()
    {
        byte[] body = new byte[16];
        U32(body, 0, PcapNg.ByteOrderMagic);
        body[4] = 1; // Version 1.0; the section's length is not known beforehand: −1.
        body.AsSpan(8).Fill(0xFF);
        return Block(PcapNg.SectionHeader, [.. body, .. Option(PcapNg.OptionUserApplication, "HilRunner"u8), .. Option(PcapNg.OptionEnd, [])]);
    }

    private static byte[] Interface(ushort linkType, string name)
    {
        byte[] body = new byte[8]; // Reserved and snapshot length 0: no limit.
        BinaryPrimitives.WriteUInt16LittleEndian(body, linkType);
        return Block(PcapNg.InterfaceDescription,
        [
            .. body,
            .. Option(PcapNg.OptionInterfaceName, Encoding.ASCII.GetBytes(name)),
            .. Option(PcapNg.OptionTimeResolution, [PcapNg.Nanoseconds]),
            .. Option(PcapNg.OptionEnd, []),
        ]);
    }

    private static byte[] Option(ushort code, ReadOnlySpan<byte> value)
    {
        byte[] option = new byte[4 + PcapNg.Padded(value.Length)];
        BinaryPrimitives.WriteUInt16LittleEndian(option, code);
        BinaryPrimitives.WriteUInt16LittleEndian(option.AsSpan(2), (ushort)value.Length);
        value.CopyTo(option.AsSpan(4));
        return option;
    }

    private static byte[] Block(uint type, ReadOnlySpan<byte> body)
    {
        byte[] block = new byte[12 + body.Length];
        U32(block, 0, type);
        U32(block, 4, (uint)block.Length);
        body.CopyTo(block.AsSpan(8));
        U32(block, block.Length - 4, (uint)block.Length);
        return block;
    }

    private static void U32(Span<byte> block, int offset, uint value) => BinaryPrimitives.WriteUInt32LittleEndian(block[offset..], value);
}

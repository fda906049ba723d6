using System.Text.Json;

namespace HilRunner.Transport.Decoding;

/// <summary>What answers in the adapter protocol: a program, or what one said earlier.</summary>
internal interface IAdapter : IDisposable
{
    /// <summary>Asks, and hands over every line of the answer but the last, which is returned.</summary>
    /// <exception cref="InvalidDataException">It failed; from then on it always does.</exception>
    JsonElement Ask(ReadOnlySpan<byte> request, Action<JsonElement>? onLine);

    /// <summary>Nothing more is asked.</summary>
    /// <exception cref="Core.BadInputException">It is a record, and answers more than was asked.</exception>
    void Finish() { }
}

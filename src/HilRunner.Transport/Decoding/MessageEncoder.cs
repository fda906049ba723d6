using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>Makes the body of one kind of outgoing message.</summary>
internal abstract class MessageEncoder
{
    /// <exception cref="InvalidDataException">The description cannot be used; says why.</exception>
    public static MessageEncoder Create(OutgoingMessage message, FieldType? typeField, OutgoingScope scope)
    {
        if (message.Layout is { } layout) { return new BinaryEncoder(layout, typeField, scope); }
        if (message.Template is not { } template) { throw new InvalidDataException($"{scope.Where}: neither text nor fields; expected one of them"); }
        return typeField is null
            ? new TemplateEncoder(template, scope)
            : throw new InvalidDataException($"{scope.Where}: text although the framing has a type field; expected fields, or no type field");
    }

    /// <param name="samples">How many samples the message holds: repeats of the repeated part.</param>
    /// <exception cref="InvalidDataException">A value does not fit its field.</exception>
    public abstract byte[] Encode(in OutgoingValues values, int samples);
}
